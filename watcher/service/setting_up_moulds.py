"""Taking a mould in: one picture of it empty, its card, its diameters; the rim is found or tapped."""

from __future__ import annotations

from collections.abc import Callable
from threading import Lock

from models.doors import BadValue
from models.profile_files import write_profile
from models.profile_text import ProfileFile
from watcher.page.port import Picture
from watcher.page.setup.port import Unfit
from watcher.page.setup.shown import MouldShown, SeenCard, ShotShown, Told
from watcher.page.setup.typed import MouldTyped
from watcher.service.setting_up_pictures import shown_picture
from watcher.service.setting_up_print import SetupCards
from watcher.service.setting_up_sheet import Seen, SetupSheet
from watcher.setup.first_profile import Measured, first_profile, odd_bore, with_place
from watcher.setup.folder import SetupFolder
from watcher.setup.found_rim import asked_with_found_rim
from watcher.setup.found_words import of_mould
from watcher.setup.mould_picture import mould_picture, tags_picture
from watcher.setup.mould_place import MouldAsked, MouldPlaced, place_mould
from watcher.setup.rim_fit import NoRim

SAME_MM = 0.5
"""A known mould whose hole is typed with this width or nearly so only has its card's place renewed. [mm]"""
NO_SHOT = ShotShown("", 1280, 720, (), (), ())


class SetupMoulds:
    """The step of the moulds. The files are the same as `tipbell mould` writes.

    Parameters
    ----------
    folder : SetupFolder
    sheet : SetupSheet
    cards : SetupCards
    watched : callable
        Gives the names of the moulds that are watched already.
    """

    def __init__(
        self,
        folder: SetupFolder,
        sheet: SetupSheet,
        cards: SetupCards,
        watched: Callable[[], frozenset[str]],
    ) -> None:
        self._folder = folder
        self._sheet = sheet
        self._cards = cards
        self._watched = watched
        self._lock = Lock()
        self._seen: Seen | None = None
        self._shot = NO_SHOT
        self._picture: Picture | None = None
        self._count = 0

    def all(self) -> tuple[MouldShown, ...]:
        """Return the moulds that were taken in."""
        watched = self._watched()
        return tuple(_shown(one, one.mould.name in watched) for one in self._profiles())

    def shot(self) -> ShotShown:
        """Return the picture that a mould is being taken in from."""
        return self._shot

    def shot_picture(self) -> Picture | None:
        """Return it, with what was found last drawn in."""
        return self._picture

    def take_shot(self) -> ShotShown:
        """Take that picture anew."""
        seen = self._sheet.see()
        names = {card.number: card.name for card in self._cards.shown().cards}
        on_sheet = {tag.tag_id for tag in seen.sheet.tags}
        cards = tuple(
            SeenCard(
                tag.tag_id,
                names.get(tag.tag_id, ""),
                tuple((round(float(x), 1), round(float(y), 1)) for x, y in tag.corners_px),
            )
            for tag in seen.sight.found
            if tag.tag_id not in on_sheet
        )
        rows, cols = seen.frame.image.shape[:2]
        says = seen.sight.warnings if cards else (*seen.sight.warnings, "no mould's card is to be seen")
        with self._lock:
            self._seen = seen
            self._draw(seen, None)
            assert self._picture is not None
            self._shot = ShotShown(self._picture.frame_id, cols, rows, says, cards, ())
        return self._shot

    def take_in(self, typed: MouldTyped) -> Told:
        """Find the mould's rim; keep its profile where `typed.keep`."""
        with self._lock:
            seen = self._seen
            if seen is None:
                raise Unfit("take a picture of the empty mould first")
            asked = self._asked(typed, seen)
            odd = odd_bore(asked.bore)
            if odd is not None and not typed.sure:
                return Told(question=odd)
            profile, new = self._profile(typed, asked)
            placed = self._placed(asked, seen)
            self._draw(seen, (placed, asked))
            said = tuple(of_mould(seen.sight, placed))
            if typed.keep:
                said = (*said, self._keep(with_place(profile, placed, new=new)))
            assert self._picture is not None
            return Told(said, picture_id=self._picture.frame_id)

    def remove(self, name: str) -> Told:
        """Take a mould out of the set-up; its casts stay in the memory."""
        path = self._folder.profile_path(name)
        if not path.exists():
            raise Unfit(f"there is no mould '{name}' in the set-up")
        path.rename(path.with_name(f"{path.name}.before"))
        return Told((f"{name} is taken out; its casts are still remembered",))

    def _placed(self, asked: MouldAsked, seen: Seen) -> MouldPlaced:
        if not asked.taps_px:
            found = asked_with_found_rim(seen.frame.image, seen.sight, asked, seen.lens, seen.sheet.up)
            if isinstance(found, NoRim):
                raise Unfit(found.why, "taps")
            asked = found
        placed = place_mould(seen.frame.image, seen.sight, asked, seen.lens, seen.sheet.up)
        if isinstance(placed, NoRim):
            raise Unfit(placed.why, "taps")
        return placed

    def _asked(self, typed: MouldTyped, seen: Seen) -> MouldAsked:
        if not typed.bore:
            raise Unfit("measure the pour hole at its rim and type its width", "bore")
        card_mm = 0.0
        if typed.card is not None:
            if typed.card not in seen.sheet.card_sizes_mm:
                raise Unfit(
                    f"card {typed.card} is not among the printed ones; give this mould a card on the page of "
                    "the print",
                    "card",
                )
            card_mm = seen.sheet.card_sizes_mm[typed.card]
        long_mm, short_mm = typed.oval_long_mm, typed.oval_short_mm
        oval = (
            None if long_mm is None or short_mm is None else (max(long_mm, short_mm), min(long_mm, short_mm))
        )
        return MouldAsked(
            typed.name,
            tuple(typed.taps),
            tuple(typed.bore),
            typed.card,
            card_mm,
            typed.rim_above_card_mm,
            typed.deepest_mm,
            typed.rim_height_mm,
            oval,
            tuple(typed.second_taps),
            typed.second_mm,
        )

    def _profile(self, typed: MouldTyped, asked: MouldAsked) -> tuple[ProfileFile, bool]:
        """Return the profile that this mould has, where only its card is renewed; else a first one."""
        for one in self._profiles():
            alike = abs(one.mould.bore[0][1] - asked.bore[0][1]) <= SAME_MM
            if one.mould.name == typed.name and alike and len(asked.bore) == 1 and typed.thin_mm is None:
                return one, False
        return _first(typed, asked), True

    def _keep(self, profile: ProfileFile) -> str:
        name, tag = profile.mould.name, profile.card.tag_id
        for other in self._profiles():
            if tag is not None and other.card.tag_id == tag and other.mould.name != name:
                raise Unfit(
                    f"card {tag} belongs to '{other.mould.name}'; two moulds cannot share one card", "card"
                )
        self._folder.moulds.mkdir(parents=True, exist_ok=True)
        path = self._folder.profile_path(name)
        again = path.exists()
        if again:
            path.with_name(f"{path.name}.before").write_bytes(path.read_bytes())
        try:
            write_profile(path, profile, replace=True)
        except BadValue as fault:
            raise Unfit(str(fault)) from None
        return f"{name} is {'renewed' if again else 'taken in'}"

    def _profiles(self) -> tuple[ProfileFile, ...]:
        try:
            return self._folder.profiles()
        except BadValue as fault:
            raise Unfit(str(fault)) from None

    def _draw(self, seen: Seen, found: tuple[MouldPlaced, MouldAsked] | None) -> None:
        image = seen.frame.image
        if found is None:
            drawn = tags_picture(image, seen.sight.found)
        else:
            placed, asked = found
            taps = (*asked.taps_px, *asked.second_taps_px)
            drawn = mould_picture(image, seen.sight, placed, seen.lens, taps_px=taps, up=seen.sheet.up)
        self._count += 1
        self._picture = shown_picture(drawn, f"{seen.frame.taken_s:.2f}-{self._count}", seen.frame.taken_at)


def _first(typed: MouldTyped, asked: MouldAsked) -> ProfileFile:
    wall: float | tuple[float, float] | None = typed.thin_mm
    if typed.thin_mm is not None and typed.thick_mm is not None:
        wall = (typed.thin_mm, typed.thick_mm)
    if wall is not None and typed.depth_mm is None and not typed.whole_bore:
        raise Unfit(
            "a wall in mm needs the cavity's depth as well; measure from the rim to the floor", "depth_mm"
        )
    try:
        return first_profile(
            Measured(typed.name, asked.bore, wall, typed.depth_mm, typed.whole_bore, typed.deepest_mm)
        )
    except BadValue as fault:
        raise Unfit(str(fault), "bore") from None


def _shown(profile: ProfileFile, watched: bool) -> MouldShown:
    mould = profile.mould
    thin, thick = mould.target_wall_mm or (None, None)
    return MouldShown(
        mould.name,
        profile.card.tag_id,
        mould.bore[0][1],
        thin,
        thick,
        mould.target_water_ml,
        profile.way.value,
        watched,
    )
