"""The survey of a strip on the page: pictures from several sides, and the strip's places from them."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from threading import Lock

import cv2
import numpy as np

from models.doors import BadValue
from watcher.page.port import Picture
from watcher.page.setup.port import Unfit
from watcher.page.setup.shown import StripShown, Told
from watcher.records.frames import Image
from watcher.records.layout import Lens
from watcher.service.setting_up_camera import SetupCamera
from watcher.service.setting_up_lens import SetupLens
from watcher.service.setting_up_pictures import shown_picture
from watcher.service.setting_up_print import PAPERS
from watcher.setup.bench_file import BenchFile, read_bench
from watcher.setup.bench_sight import NoBench, bench_sight
from watcher.setup.folder import SetupFolder
from watcher.setup.mould_card import STRIP_IDS, STRIP_TAG_MM, card_pages, strip_cards
from watcher.setup.mould_picture import placed_picture, tags_picture
from watcher.setup.pdf import pdf_bytes
from watcher.setup.strip import strip_text, strip_words, survey_strip, tags_in
from watcher.setup.survey import NoSurvey, Sighted, Surveyed

MOST_VIEWS = 12
OTHER_SIDE_SHARE = 0.04
"""A view is another one where its tags have moved by so much of the picture's width: less tells nothing new
of where they are (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class View:
    """One kept picture and the straightened corners of its tags."""

    image: Image
    tags: Sighted


class SetupStrip:
    """The survey. Kept pictures lie in `setup/strip-pictures`, so that one can go on another day.

    Parameters
    ----------
    folder : SetupFolder
    camera : SetupCamera
    lens : SetupLens
    scale : callable
        Gives the scale of the print.
    """

    def __init__(
        self, folder: SetupFolder, camera: SetupCamera, lens: SetupLens, scale: Callable[[], float]
    ) -> None:
        self._folder = folder
        self._camera = camera
        self._lens = lens
        self._scale = scale
        self._lock = Lock()
        self._views: list[View] | None = None
        self._straightened_by: Lens | None = None
        self._looked_s = -1.0
        self._says: tuple[str, ...] = ()
        self._picture: Picture | None = None
        self._count = 0

    def shown(self) -> StripShown:
        """Return which pictures are kept, and what came of them."""
        with self._lock:
            return self._shown()

    def look(self) -> StripShown:
        """Keep the camera's picture if it shows the strip from another side."""
        with self._lock:
            lens, bench = self._measured_lens(), self._printed()
            views = self._gathered(lens, bench)
            if len(views) >= MOST_VIEWS:
                raise Unfit(f"{MOST_VIEWS} pictures are kept already; work the survey out, or begin anew")
            frame = self._camera.frame()
            if frame.taken_s == self._looked_s:
                raise Unfit("no new picture has come from the camera yet")
            try:
                found, seen = tags_in(frame.image, lens, bench.dictionary)
            except BadValue as fault:
                raise Unfit(str(fault)) from None
            why = _nothing_new(views, seen, bench, lens)
            if why:
                raise Unfit(why)
            self._looked_s = frame.taken_s
            _save(_next_path(self._folder.strip_pictures), frame.image)
            views.append(View(frame.image.copy(), seen))
            self._draw(tags_picture(frame.image, found), frame.taken_at)
            self._says = (f"picture {len(views)} is kept: tags {_listed(tuple(sorted(seen)))}",)
            return self._shown()

    def picture(self) -> Picture | None:
        """Return the last picture with its tags drawn in, or with the surveyed ones."""
        return self._picture

    def survey(self, tag_mm: float | None) -> Told:
        """Work out where the strip's tags are, and keep it."""
        with self._lock:
            lens, bench = self._measured_lens(), self._printed()
            views = self._gathered(lens, bench)
            if not views:
                raise Unfit("no picture is kept yet; take three or more, from different sides")
            try:
                size_mm = tag_mm or STRIP_TAG_MM * self._scale()
                found = survey_strip([one.tags for one in views], bench.flat_sheet, size_mm, lens.fx_px)
            except BadValue as fault:
                raise Unfit(str(fault)) from None
            if isinstance(found, NoSurvey):
                raise Unfit(found.why)
            placed = {one.tag.tag_id for one in found.tags}
            known = tuple(tag for tag in bench.tags if tag.tag_id not in placed)
            self._keep(strip_text(known, found, bench))
            self._draw_placed(views, found, lens)
            fit = f"surveyed from {found.pictures} pictures, corners within {found.fit_px:.2f} px"
            self._says = (fit, *strip_words(found))
            return Told(self._says, picture_id="" if self._picture is None else self._picture.frame_id)

    def forget(self) -> Told:
        """Put the pictures and the survey away; the sheet alone counts again."""
        with self._lock:
            for path in self._folder.strip_pictures.glob("view-*.png"):
                path.unlink()
            self._views, self._says, self._picture = None, (), None
            kept = self._folder.surveyed
            if not kept.exists():
                return Told(("the pictures are put away",))
            kept.replace(kept.with_name(f"{kept.name}.before"))
            return Told(("the survey is put away; the bench sheet alone counts",))

    def pdf(self, paper: str) -> bytes:
        """Return the strip's tags as a PDF."""
        title = "Tipbell tags for a wall or shelf"
        return pdf_bytes(card_pages(strip_cards(), PAPERS[paper], title), title)

    def _shown(self) -> StripShown:
        with suppress(Unfit):  # without lens or print nothing can be told of kept pictures
            self._gathered(self._measured_lens(), self._printed())
        views = tuple(tuple(sorted(one.tags)) for one in self._views or ())
        placed: tuple[int, ...] = ()
        if self._folder.surveyed.exists():
            try:
                tags = read_bench(self._folder.surveyed).tags
            except BadValue as fault:
                raise Unfit(str(fault)) from None
            placed = tuple(sorted(tag.tag_id for tag in tags if tag.rotation_deg is not None))
        return StripShown(views, placed, self._says, "" if self._picture is None else self._picture.frame_id)

    def _measured_lens(self) -> Lens:
        lens = self._lens.lens()
        if self._lens.shown().kind == "guess":
            raise Unfit("measure the lens first: a survey with a guess would keep the guess's error for ever")
        return lens

    def _printed(self) -> BenchFile:
        try:
            bench = read_bench(self._folder.printed)
        except BadValue as fault:
            raise Unfit(str(fault)) from None
        if not bench.flat_sheet:
            raise Unfit("a survey here begins from a bench sheet; without one use `tipbell survey --upright`")
        return bench

    def _gathered(self, lens: Lens, bench: BenchFile) -> list[View]:
        """Take up the pictures of an earlier day, or anew where the lens was measured since."""
        if self._views is None or self._straightened_by != lens:
            self._views, self._straightened_by = [], lens
            for path in sorted(self._folder.strip_pictures.glob("view-*.png"))[:MOST_VIEWS]:
                image = cv2.imread(str(path), cv2.IMREAD_COLOR)
                if image is None or image.shape[:2] != (lens.height_px, lens.width_px):
                    continue
                kept = np.asarray(image, dtype=np.uint8)
                try:
                    self._views.append(View(kept, tags_in(kept, lens, bench.dictionary)[1]))
                except BadValue:
                    continue
        return self._views

    def _keep(self, text: str) -> None:
        path = self._folder.surveyed
        draft = path.with_name(f".{path.name}.part")
        draft.write_text(text, encoding="utf-8")
        draft.replace(path)

    def _draw_placed(self, views: list[View], found: Surveyed, lens: Lens) -> None:
        """Draw all tags where the survey says that they are, into the view with most of them."""
        bench = read_bench(self._folder.surveyed)
        best = max(views, key=lambda one: len(one.tags))
        sight = bench_sight(best.image, lens, bench)
        if not isinstance(sight, NoBench):
            self._draw(
                placed_picture(best.image, bench.tags, sight.camera, lens), datetime.fromtimestamp(0.0, UTC)
            )

    def _draw(self, drawn: Image, taken_at: datetime) -> None:
        self._count += 1
        self._picture = shown_picture(drawn, f"strip-{self._count}", taken_at)


def _nothing_new(views: list[View], seen: Sighted, bench: BenchFile, lens: Lens) -> str:
    """Say why a picture tells nothing for the survey; empty where it does."""
    on_sheet = {tag.tag_id for tag in bench.flat_sheet}
    strip = set(seen) & set(STRIP_IDS) - on_sheet
    if not strip:
        return f"no tag of the strip (numbers {STRIP_IDS[0]} to {STRIP_IDS[-1]}) is to be seen sharply"
    if len(set(seen) & (on_sheet | set(STRIP_IDS))) < 2:
        return f"only tag {min(strip)} is to be seen; show it together with the bench sheet or another tag"
    least = OTHER_SIDE_SHARE * lens.width_px / lens.fx_px
    for number, view in enumerate(views, start=1):
        shared = sorted(set(seen) & set(view.tags))
        if shared and set(seen) <= set(view.tags):
            moved = [float(np.abs(seen[tag] - view.tags[tag]).max()) for tag in shared]
            if float(np.median(moved)) < least:
                return f"the camera stands as it did for picture {number}; move it to another side"
    return ""


def _listed(tags: tuple[int, ...]) -> str:
    return ", ".join(map(str, tags))


def _next_path(folder: Path) -> Path:
    """Return a name after all others: a picture that cannot be used any more is not written over."""
    last = max((int(path.stem[5:]) for path in folder.glob("view-[0-9][0-9][0-9].png")), default=0)
    return folder / f"view-{last + 1:03d}.png"


def _save(path: Path, image: Image) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    fine, data = cv2.imencode(".png", image)
    if fine:
        path.write_bytes(data.tobytes())
