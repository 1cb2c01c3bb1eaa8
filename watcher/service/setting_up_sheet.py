"""The sheet on the bench: is it seen, does it lie flat, and how well will every hole be read from here."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from models.doors import BadValue
from models.profile_text import ProfileFile
from models.slip import Slip
from watcher.page.port import Picture
from watcher.page.setup.port import Unfit
from watcher.page.setup.shown import HoleShown, SheetShown
from watcher.records.frames import Frame
from watcher.records.layout import BenchLayout, Lens
from watcher.service.setting_up_camera import SetupCamera
from watcher.service.setting_up_lens import SetupLens
from watcher.service.setting_up_pictures import shown_picture
from watcher.setup.bench_file import BenchFile
from watcher.setup.bench_sight import BenchSight, NoBench, bench_sight
from watcher.setup.card_moved import card_moved
from watcher.setup.folder import SetupFolder
from watcher.setup.found_words import falls, of_bench, of_hole
from watcher.setup.holes_ahead import HoleAhead, holes_ahead
from watcher.setup.mould_picture import tags_picture
from watcher.setup.placing import placed_mould
from watcher.setup.tag_sightings import half_covered

GUESSED = "the squares do not fit quite, which a guessed lens explains; measure the lens, or the print again"
NOT_LOOKED = SheetShown(False, (), "")


@dataclass(frozen=True, slots=True)
class Seen:
    """One look: the frame, the lens, the sheet's file, and what they told."""

    frame: Frame
    lens: Lens
    sheet: BenchFile
    sight: BenchSight


class SetupSheet:
    """The step of the sheet, and of the sight.

    Parameters
    ----------
    folder : SetupFolder
    camera : SetupCamera
    lens : SetupLens
    slip : callable
        Gives the slip that the bench is poured with.
    empty : callable
        Says of a mould whether nothing stands in it.
    """

    def __init__(
        self,
        folder: SetupFolder,
        camera: SetupCamera,
        lens: SetupLens,
        slip: Callable[[], Slip],
        empty: Callable[[str], bool],
    ) -> None:
        self._folder = folder
        self._camera = camera
        self._lens = lens
        self._slip = slip
        self._empty = empty
        self._last = NOT_LOOKED
        self._picture: Picture | None = None
        self._corners: dict[int, npt.NDArray[np.float64]] = {}

    def sheet(self) -> SheetShown:
        """Return what was found at the last look."""
        return self._last

    def sheet_picture(self) -> Picture | None:
        """Return the picture of the last look with all cards drawn in."""
        return self._picture

    def look(self) -> SheetShown:
        """Look for the sheet now."""
        seen = self.see()
        marked = f"{seen.frame.taken_s:.2f}"
        drawn = tags_picture(seen.frame.image, seen.sight.found)
        self._picture = shown_picture(drawn, marked, seen.frame.taken_at)
        self._last = SheetShown(True, tuple(of_bench(seen.sight)), marked)
        return self._last

    def see(self) -> Seen:
        """Look at the bench once; `Unfit` with the reason where that tells nothing."""
        frame, lens = self._camera.frame(), self._lens.lens()
        try:
            sheet = self._folder.read_sheet()
        except BadValue as fault:
            raise Unfit(str(fault)) from None
        sight = bench_sight(frame.image, lens, sheet)
        if isinstance(sight, NoBench):
            self._last = SheetShown(False, (sight.why,), "")
            raise Unfit(sight.why)
        self._corners |= {tag.tag_id: tag.corners_px for tag in sight.found}
        return Seen(frame, lens, sheet, replace(sight, warnings=self._told(sight.warnings)))

    def _told(self, warnings: tuple[str, ...]) -> tuple[str, ...]:
        """Say of squares that do not fit what is likelier: a guessed lens bends them as a bad print does."""
        if self._lens.shown().kind != "guess":
            return warnings
        odd = tuple(line for line in warnings if line.startswith("the bench sheet was printed"))
        kept = tuple(line for line in warnings if line not in odd)
        return (*kept, GUESSED) if odd else kept

    def holes(self) -> tuple[HoleShown, ...]:
        """Foretell how well each hole will be read from where the camera stands now."""
        try:
            profiles = self._folder.profiles()
        except BadValue as fault:
            raise Unfit(str(fault)) from None
        if not profiles:
            return ()
        seen = self.see()
        placed = tuple(map(placed_mould, profiles))
        sheet = seen.sheet
        layout = BenchLayout("setup", seen.lens, sheet.tags, placed, sheet.dictionary, sheet.up)
        ahead = holes_ahead(seen.sight, layout, seen.lens, falls(layout, self._slip()))
        tags = {one.name: one.card.tag_id for one in placed if one.card is not None}
        known = {one.mould.name: one for one in profiles}
        lost = (self._half_seen(hole, tags, seen) for hole in ahead)
        return tuple(_shown(self._moved(hole, known[hole.name], seen)) for hole in lost)

    def _moved(self, hole: HoleAhead, profile: ProfileFile, seen: Seen) -> HoleAhead:
        """Say of an empty mould whose card was put back elsewhere."""
        if hole.reading is None or not self._empty(hole.name):
            return hole
        sheet = seen.sheet
        moved = card_moved(seen.frame.image, seen.sight, profile, seen.lens, sheet.up)
        return hole if moved is None else replace(hole, warnings=(*hole.warnings, moved))

    def _half_seen(self, hole: HoleAhead, tags: dict[str, int], seen: Seen) -> HoleAhead:
        """Say of a card that is lost whether part of it still lies where it was seen before."""
        tag = tags.get(hole.name)
        if hole.reading is not None or tag is None or tag not in self._corners:
            return hole
        half = half_covered(seen.frame.image, self._corners[tag], tag, hole.name)
        return hole if half is None else replace(hole, warnings=(half,))


def _shown(hole: HoleAhead) -> HoleShown:
    if hole.reading is None:
        return HoleShown(hole.name, "unknown", None, None, hole.warnings)
    reading = hole.reading
    sigma = reading.level_sigma_mm if reading.level_sigma_mm < 10.0 else None
    says = (*hole.warnings, *reading.advice)
    return HoleShown(hole.name, reading.how_well.value, sigma, reading.lost_below_mm, says or _plain(hole))


def _plain(hole: HoleAhead) -> tuple[str, ...]:
    return tuple(line for line in of_hole(hole) if not line.startswith("note: "))[:1]
