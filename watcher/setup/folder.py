"""The folder of a bench, where each step of setting up keeps what it found, to be taken up again."""

from __future__ import annotations

import os
import tomllib
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

from models.doors import BadValue
from models.profile_files import read_profile
from models.profile_text import ProfileFile
from watcher.records.layout import Lens
from watcher.setup.bench_file import BenchFile, read_bench
from watcher.setup.lens_file import read_lens
from watcher.setup.toml_text import toml_text

USUAL_SIZE = (1280, 720)


@dataclass(frozen=True, slots=True)
class ChosenCamera:
    """The camera that was chosen: its address, and the picture's size in pixels."""

    address: str
    width_px: int
    height_px: int


@dataclass(frozen=True, slots=True)
class SetupFolder:
    """The files below the folder of a bench's settings.

    Parameters
    ----------
    home : Path
        The folder in which the settings file lies.
    """

    home: Path

    @property
    def own(self) -> Path:
        """Where the steps keep their files."""
        return self.home / "setup"

    @property
    def sheet(self) -> Path:
        """The printed sheet and cards; a surveyed strip's file counts before it."""
        return self.surveyed if self.surveyed.exists() else self.printed

    @property
    def lens(self) -> Path:
        """The lens."""
        return self.own / "lens.toml"

    @property
    def lens_pictures(self) -> Path:
        """Pictures of the lens board that were kept."""
        return self.own / "lens-pictures"

    @property
    def printed(self) -> Path:
        """The sheet as it was printed, without any surveyed strip."""
        return self.own / "sheet.toml"

    @property
    def surveyed(self) -> Path:
        """The sheet and a surveyed strip."""
        return self.own / "bench-sheet.toml"

    @property
    def strip_pictures(self) -> Path:
        """Pictures for the survey of a strip that were kept."""
        return self.own / "strip-pictures"

    @property
    def moulds(self) -> Path:
        """The moulds' profiles."""
        return self.own / "moulds"

    @property
    def walls(self) -> Path:
        """The caster's list of wanted walls."""
        return self.own / "walls.toml"

    def profile_path(self, name: str) -> Path:
        """Return where a mould's profile is, or will be: names hold signs that no file's name may."""
        for path in sorted(self.moulds.glob("*.toml")):
            try:
                if read_profile(path).mould.name == name:
                    return path
            except BadValue:
                continue
        plain = "".join(c if c.isalnum() or c in "-_" else "-" for c in name).strip("-")[:60] or "mould"
        path, number = self.moulds / f"{plain}.toml", 2
        while path.exists():
            path, number = self.moulds / f"{plain}-{number}.toml", number + 1
        return path

    def profiles(self) -> tuple[ProfileFile, ...]:
        """Read all profiles, by file name.

        Raises
        ------
        BadValue
            One cannot be read, or two have one name or one card.
        """
        found = tuple(read_profile(path) for path in sorted(self.moulds.glob("*.toml")))
        names: set[str] = set()
        owner: dict[int, str] = {}
        for one in found:
            if one.mould.name in names:
                raise BadValue(f"two moulds have the name '{one.mould.name}'; remove one of their files")
            names.add(one.mould.name)
            tag = one.card.tag_id
            if tag is not None and tag in owner:
                raise BadValue(f"'{owner[tag]}' and '{one.mould.name}' have the same card, number {tag}")
            if tag is not None:
                owner[tag] = one.mould.name
        return found

    def read_lens(self) -> Lens | None:
        """Read the lens; None where there is none yet."""
        return read_lens(self.lens) if self.lens.exists() else None

    def read_sheet(self) -> BenchFile:
        """Read the sheet; BadValue where there is none yet. A survey knows tags, the print the cards."""
        bench = read_bench(self.sheet)
        if self.sheet == self.printed or not self.printed.exists():
            return bench
        sizes = {**read_bench(self.printed).card_sizes_mm, **bench.card_sizes_mm}
        return replace(bench, card_sizes_mm=MappingProxyType(sizes))

    def camera(self) -> ChosenCamera | None:
        """Read the camera that was chosen; None where none was."""
        path = self.own / "camera.toml"
        try:
            held = tomllib.loads(path.read_text(encoding="utf-8"))
            return ChosenCamera(str(held["address"]), int(held["width"]), int(held["height"]))
        except FileNotFoundError:
            return None
        except (ValueError, RecursionError, OSError, KeyError, TypeError) as fault:
            raise BadValue(f"{path.name} cannot be read ({fault}); choose the camera anew") from fault

    def keep_camera(self, chosen: ChosenCamera) -> None:
        """Keep the camera. Its address may hold a password: nobody else may read the file."""
        self.own.mkdir(parents=True, exist_ok=True)
        text = toml_text(
            [("", {"address": chosen.address, "width": chosen.width_px, "height": chosen.height_px})]
        )
        path = self.own / "camera.toml"
        path.unlink(missing_ok=True)
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as file:
            file.write(text)
