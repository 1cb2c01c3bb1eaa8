"""The caster's 'this one came out right' becomes the mould's target: the next cast is called."""

from __future__ import annotations

import logging
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

from models.good_cast import WaterTarget
from watcher.page.setup.port import Unfit
from watcher.records.bench import Step
from watcher.records.said import Said
from watcher.service.setting_up_slips import slip_under
from watcher.service.setting_up_watched import Watched, WatchedProfiles
from watcher.setup.folder import SetupFolder
from watcher.setup.good_target import MOST_CASTS, WORDS, target_of
from watcher.storage.writer import JournalFailed

log = logging.getLogger(__name__)

SAME_SHARE = 0.002
"""A target that moves by less is left as it is: every version kept should mean something."""


class Verdicts:
    """Learns targets from what the caster says of casts. Works on a thread of its own.

    Parameters
    ----------
    folder : SetupFolder
    watched : Watched
    """

    def __init__(self, folder: SetupFolder, watched: Watched) -> None:
        self._watched = watched
        self._profiles = WatchedProfiles(folder, watched)
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="verdicts")

    def heard(self, step: Step, said: Said | None) -> None:
        """Take in what was said; returns at once."""
        if said is not None and said.what.value in WORDS:
            self._worker.submit(self._learn, said.mould)

    def close(self) -> None:
        """End after what is being learned."""
        self._worker.shutdown(wait=True, cancel_futures=True)

    def _learn(self, mould: str) -> None:
        try:
            self._watched.journal.write(lambda _: None)  # the word itself is written by then
            self._retarget(mould)
        except (Unfit, JournalFailed, OSError) as fault:
            log.warning("mould=%s event=target_not_learned why=%r", mould, str(fault))
        except Exception:
            log.exception("mould=%s event=target_not_learned", mould)

    def _retarget(self, mould: str) -> None:
        known = self._profiles.profile(mould)
        if known.mould.target_wall_mm is not None:
            return  # millimetres were asked for: they count
        journal = self._watched.journal
        casts = journal.casts(mould, MOST_CASTS)
        slip = self._watched.running.bench().slip
        target = target_of(known.mould, slip, casts, lambda kept: slip_under(journal, kept))
        if not isinstance(target, WaterTarget):
            log.info("mould=%s event=no_target why=%r", mould, target.why)
            return
        for question in target.questioned:
            log.warning("mould=%s event=word_questioned why=%r", mould, question)
        water = round(target.water_ml.value, 2)
        before = known.mould.target_water_ml
        if before is not None and abs(water - before) <= SAME_SHARE * before:
            return
        why = f"as the casts that were right: {water:g} mL"
        self._profiles.change(replace(known, mould=replace(known.mould, target_water_ml=water)), why)
        log.info("mould=%s event=target_learned water_ml=%.1f", mould, water)
