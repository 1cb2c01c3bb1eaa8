"""Join the set-up to a bench that is watched: its pages, and targets learned from what the caster says."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

from watcher.clock import Clock
from watcher.page.setup.port import SetupPort
from watcher.service.running import RunningBench
from watcher.service.setting_up import desks_beside
from watcher.service.setting_up_shared import Elsewhere
from watcher.service.setting_up_verdicts import Verdicts
from watcher.service.setting_up_watched import Watched
from watcher.service.stand_ins import Source
from watcher.settings import Settings
from watcher.setup.folder import SetupFolder
from watcher.storage.journal import Journal


@dataclass(frozen=True, slots=True)
class Beside:
    """What the set-up beside a watched bench needs besides the bench.

    Parameters
    ----------
    settings_path : Path
        The settings file; the set-up's files lie below its folder.
    again : callable
        Asks for the bench to be assembled anew from its settings.
    """

    settings_path: Path
    again: Callable[[], None]

    def join(
        self,
        settings: Settings,
        running: RunningBench,
        journal: Journal,
        source: Source,
        clock: Clock,
        stack: ExitStack,
        elsewhere: Elsewhere | None = None,
    ) -> SetupPort:
        """Return the desks beside this bench, and let its verdicts be heard."""

        def again() -> None:
            self.again()
            running.stop()

        watched = Watched(settings, self.settings_path, running, journal, source, again, elsewhere)
        verdicts = Verdicts(SetupFolder(self.settings_path.resolve().parent), watched)
        running.listen(verdicts.heard)
        stack.callback(verdicts.close)
        return desks_beside(watched, clock, settings.camera.address.get_secret_value())
