"""Walls wanted and measured, rulers dipped, profiles brought and taken along."""

from __future__ import annotations

from dataclasses import replace

from models.calibration import Place, Questioned
from models.doors import BadValue
from models.mould import ProfileError, checked_mould
from models.profile_files import write_profile
from models.profile_text import ProfileFile, profile_from_text, profile_to_text
from models.slip import Slip
from models.wall_basis import Basis
from watcher.page.moments import iso
from watcher.page.setup.port import Unfit
from watcher.page.setup.shown import CastShown, ElsewhereShown, Told, WallShown
from watcher.page.setup.typed import CutTyped, DrawingTyped, ElsewhereTyped
from watcher.records.bench import Filling
from watcher.records.readings import LevelReading
from watcher.records.said import Said, What
from watcher.service.setting_up_shared import Brings, shown_elsewhere
from watcher.service.setting_up_slips import slip_under
from watcher.service.setting_up_watched import Watched, WatchedProfiles
from watcher.setup.bench_writing import what_it_asks
from watcher.setup.drawn_profile import drawn_again, drawn_profile, drawn_words, other_width
from watcher.setup.folder import SetupFolder
from watcher.setup.ruler_check import beside_eye
from watcher.setup.wall_test import WallMeasured, sharper_by
from watcher.setup.walls_file import checked_wall, read_walls, with_wall, write_walls
from watcher.storage.writer import JournalFailed

MOST_CASTS = 10
MOST_LETTERS = 60
USUAL = Slip(1.75, 0.62)
"""Taken while no bench is watched (common practice, no source)."""
FRESH_S = 60.0
"""A reading older than this is no longer what the ruler is held against. [s]"""


class SetupProfiles:
    """The desk of walls and profiles.

    Parameters
    ----------
    folder : SetupFolder
    watched : Watched or None
    """

    def __init__(self, folder: SetupFolder, watched: Watched | None) -> None:
        self._folder = folder
        self._watched = watched
        self._known = None if watched is None else WatchedProfiles(folder, watched)

    def walls(self) -> tuple[WallShown, ...]:
        """Return the caster's list of walls."""
        try:
            held = read_walls(self._folder.walls)
        except BadValue as fault:
            raise Unfit(str(fault)) from None
        return tuple(WallShown(one.use, one.thin_mm, one.thick_mm, one.source) for one in held)

    def set_wall(self, use: str, thin_mm: float, thick_mm: float) -> Told:
        """Put an entry in, or change it."""
        try:
            one = checked_wall(use, thin_mm, thick_mm)
            write_walls(self._folder.walls, with_wall(read_walls(self._folder.walls), one))
        except BadValue as fault:
            raise Unfit(str(fault)) from None
        return Told((f"{one.use}: {one.thin_mm:g} to {one.thick_mm:g} mm",))

    def drop_wall(self, use: str) -> Told:
        """Take an entry out."""
        try:
            held = read_walls(self._folder.walls)
        except BadValue as fault:
            raise Unfit(str(fault)) from None
        left = tuple(one for one in held if one.use != use)
        if len(left) == len(held):
            raise Unfit(f"'{use}' is not in the list", "use")
        write_walls(self._folder.walls, left)
        return Told((f"{use} is taken out",))

    def want(self, mould: str, thin_mm: float | None, thick_mm: float | None) -> Told:
        """Give a mould its wanted wall, or none."""
        before = self._profile(mould)
        wall: float | tuple[float, float] | None = thin_mm
        if thin_mm is not None and thick_mm is not None:
            wall = (thin_mm, thick_mm)
        own = before.mould
        try:
            changed = checked_mould(
                own.name, own.bore, holes=own.holes, target_wall_mm=wall,
                wetted_area_mm2=own.wetted_area_mm2, target_water_ml=own.target_water_ml,
                trim_line_mm=own.trim_line_mm, area_rel_sigma=own.area_rel_sigma, solid=own.solid,
            )  # fmt: skip
        except BadValue as fault:
            raise Unfit(str(fault), "thin_mm") from None
        self._change(replace(before, mould=changed), "another wanted wall")
        if wall is None:
            return Told((f"{mould} goes by the cast that you call right",))
        assert changed.target_wall_mm is not None
        thin, thick = changed.target_wall_mm
        return Told((f"{mould} is wanted with {thin:g} to {thick:g} mm of wet wall", *self._asks(mould)))

    def casts(self, mould: str) -> tuple[CastShown, ...]:
        """Return a mould's casts that a wall can be held against, newest first."""
        watched = self._must_watch()
        state = watched.running.bench().moulds.get(mould)
        now = state.cast if state is not None else None
        shown = []
        if now is not None and now.tipped_s is None:
            shown.append(CastShown(now.cast_id, iso(now.began_at), False, None, ""))
        try:
            kept = watched.journal.casts(mould, MOST_CASTS)
        except JournalFailed as fault:
            raise Unfit(str(fault)) from None
        for one in kept:
            if one.tipped_s is None or not one.fillings:
                continue
            minutes = (one.tipped_s - one.fillings[0].latest_s) / 60.0
            shown.append(CastShown(one.cast_id, iso(one.began_at), True, minutes, one.verdict))
        return tuple(shown)

    def cut(self, typed: CutTyped) -> Told:
        """Hold a measured wall against its cast; sharpen the profile or question the wall."""
        watched = self._must_watch()
        before = self._profile(typed.mould)
        fillings, at_s, slip_hash = self._moment(watched, typed)
        slip = slip_under(watched.journal, slip_hash) or watched.running.bench().slip
        given = WallMeasured(
            typed.wall_mm,
            Place(typed.place),
            Basis(typed.basis),
            depth_mm=typed.depth_mm,
            trust=typed.sure,
        )
        try:
            answer = sharper_by(before, slip, fillings, at_s, given)
        except BadValue as fault:
            raise Unfit(str(fault), "wall_mm") from None
        if isinstance(answer, Questioned):
            return Told(question=answer.why)
        self._change(answer.profile, f"cut test: {typed.wall_mm:g} mm, {typed.basis}, {typed.place}")
        return Told(answer.sentences())

    def ruler(self, mould: str, level_mm: float) -> Told:
        """Hold a dipped level against the eye's."""
        watched = self._must_watch()
        self._profile(mould)
        bench = watched.running.bench()
        state = bench.moulds[mould]
        look, at_s = state.last_look, state.last_look_s
        if look is None or at_s is None or not isinstance(look.reading, LevelReading):
            raise Unfit(f"no level is read in {mould} just now; dip while one is shown", "level_mm")
        if bench.now_s - at_s > FRESH_S:
            raise Unfit(f"the eye has not read {mould} for {bench.now_s - at_s:.0f} s", "level_mm")
        found = beside_eye(level_mm, look.reading.level_mm, look.reading.sigma_mm)
        watched.running.say(Said(What.RULER, bench.now_s, watched.running.now(), mould, value=level_mm))
        return Told((found.says,))

    def bring(self, text: str) -> Told:
        """Take in somebody else's profile: a new version, never over history."""
        try:
            brought = profile_from_text(text, source="the profile")
        except ProfileError as fault:
            raise Unfit(str(fault), "text") from None
        name = brought.mould.name
        if len(name) > MOST_LETTERS or not name.isprintable():
            raise Unfit(
                f"its name is longer than {MOST_LETTERS} letters, or holds signs that no name has", "text"
            )
        known = {one.mould.name: one for one in self._all()}
        if name in known:  # where it stands is this bench's own matter
            brought = replace(brought, card=known[name].card)
            self._change(brought, "brought")
            return Told((*brought.warnings, f"{name} goes by the profile that was brought; its card stays"))
        self._folder.moulds.mkdir(parents=True, exist_ok=True)
        write_profile(self._folder.profile_path(name), replace(brought, card=type(brought.card)()))
        return Told((*brought.warnings, f"{name} is known now; show its card and rim among the moulds"))

    def bring_drawing(self, typed: DrawingTyped, data: bytes) -> Told:
        """Take in a mould's STL: a new version, its card and wanted wall stay."""
        known = next((one for one in self._all() if one.mould.name == typed.name), None)
        try:
            drawn = drawn_profile(
                typed.name, data, typed.wall_mm, typed.unit, round(typed.shrinkage_percent / 100.0, 6)
            )
            if known is not None:
                drawn = drawn_again(known, drawn)
        except BadValue as fault:
            raise Unfit(str(fault), "drawing") from None
        odd = None if known is None or typed.sure else other_width(known, drawn)
        if odd is not None:
            return Told(question=odd)
        if known is not None:
            self._change(drawn, "drawn")
            return Told((*drawn_words(drawn), f"{typed.name} goes by its drawing; its card stays"))
        self._folder.moulds.mkdir(parents=True, exist_ok=True)
        write_profile(self._folder.profile_path(typed.name), drawn)
        return Told(
            (
                *drawn_words(drawn),
                f"{typed.name} is known now; show its card and rim among the moulds, with this width",
            )
        )

    def text(self, mould: str) -> str:
        """Return a mould's profile as TOML."""
        return profile_to_text(self._profile(mould))

    def elsewhere(self) -> tuple[ElsewhereShown, ...]:
        """Return the moulds of other benches that share the database."""
        return shown_elsewhere(None if self._watched is None else self._watched.elsewhere)

    def bring_from(self, typed: ElsewhereTyped) -> Told:
        """Bring a mould of another bench with its past; `sure`: go by that bench's figures."""
        watched = self._must_watch()
        if watched.elsewhere is None:
            raise Unfit("this bench shares no database with others")
        running = watched.running
        brings = Brings(
            watched.elsewhere,
            watched.journal,
            lambda: (running.bench().now_s, running.bench().now_at or running.now()),
            lambda text: self.bring(text).said,
        )
        choice = "theirs" if typed.sure and typed.choice == "ask" else typed.choice
        return brings.bring(typed.bench_id, typed.mould, choice)

    def _asks(self, mould: str) -> tuple[str, ...]:
        """Say what a wall asks of its mould: what the hole allows is told at once."""
        slip = USUAL if self._watched is None else self._watched.running.bench().slip
        return what_it_asks(self._profile(mould), slip)

    def _moment(self, watched: Watched, typed: CutTyped) -> tuple[tuple[Filling, ...], float, str]:
        """Find the cast and the moment that a wall belongs to."""
        bench = watched.running.bench()
        state = bench.moulds.get(typed.mould)
        now = state.cast if state is not None else None
        if now is not None and now.tipped_s is None and typed.cast_id in ("", now.cast_id):
            return now.fillings, bench.now_s - 60.0 * typed.minutes_ago, ""
        kept = [one for one in watched.journal.casts(typed.mould, MOST_CASTS) if one.tipped_s is not None]
        one = next((one for one in kept if typed.cast_id in ("", one.cast_id)), None)
        if one is None or one.tipped_s is None:
            raise Unfit("that cast is not remembered; choose another one", "cast_id")
        return one.fillings, one.tipped_s, one.slip_hash

    def _must_watch(self) -> Watched:
        if self._watched is None:
            raise Unfit("no bench is watched yet; start watching first")
        return self._watched

    def _all(self) -> tuple[ProfileFile, ...]:
        try:
            return self._folder.profiles()
        except BadValue as fault:
            raise Unfit(str(fault)) from None

    def _profile(self, name: str) -> ProfileFile:
        if self._known is not None:
            return self._known.profile(name)
        for one in self._all():
            if one.mould.name == name:
                return one
        raise Unfit(f"there is no mould '{name}' in the set-up", "mould")

    def _change(self, profile: ProfileFile, why: str) -> None:
        if self._known is not None:
            self._known.change(profile, why)
            return
        path = self._folder.profile_path(profile.mould.name)
        if path.exists():
            path.with_name(f"{path.name}.before").write_bytes(path.read_bytes())
        write_profile(path, profile, replace=True)
