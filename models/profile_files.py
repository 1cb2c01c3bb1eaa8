"""Mould profiles as files: the only place in the science that opens one.

What a file says is `models.profile_text`'s matter. Writing is careful: whole or not at all, and never over
another profile unless told so.
"""

from __future__ import annotations

import os
from pathlib import Path

from models.mould import ProfileError
from models.profile_text import ProfileFile, profile_from_text, profile_to_text

_MOST_BYTES = 200_000  # a profile is a page or two; more is some other file

SAMPLES = Path(__file__).parent / "profiles"
"""Folder of sample profiles: household pots of our own."""


def read_profile(path: Path) -> ProfileFile:
    """Read and check one profile.

    Raises
    ------
    ProfileError
        The file cannot be read or is wrong; one sentence.
    """
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise ProfileError(
                f"{path.name} has {path.stat().st_size} bytes; give a mould profile, a short text"
            )
        text = path.read_text(encoding="utf-8")
    except OSError as wrong:
        raise ProfileError(
            f"{path.name} cannot be read ({wrong.strerror}); give a file that is there"
        ) from wrong
    except UnicodeDecodeError as wrong:
        raise ProfileError(f"{path.name} is no text in UTF-8; save it again as plain text") from wrong
    return profile_from_text(text, source=path.name)


def write_profile(path: Path, profile: ProfileFile, *, replace: bool = False) -> None:
    """Write a profile, whole or not at all.

    Parameters
    ----------
    path : Path
        Its folder must be there.
    profile : ProfileFile
    replace : bool
        Write over a file that is already there; without it such a file is kept and the call refused.

    Raises
    ------
    ProfileError
        There is one already, or the folder cannot be written.
    """
    if path.exists() and not replace:
        raise ProfileError(f"{path.name} is there already; give another name, or say that it may be replaced")
    draft = path.with_name(f".{path.name}.part")
    try:
        with draft.open("w", encoding="utf-8") as file:
            file.write(profile_to_text(profile))
            file.flush()
            os.fsync(file.fileno())
        draft.replace(path)
    except OSError as wrong:
        draft.unlink(missing_ok=True)
        raise ProfileError(
            f"{path.name} cannot be written ({wrong.strerror}); give a folder that can"
        ) from wrong


def read_folder(folder: Path) -> tuple[ProfileFile, ...]:
    """Read every profile of a folder, by file name; two of one name are refused.

    Raises
    ------
    ProfileError
        One of them is wrong, or two moulds have the same name.
    """
    found: dict[str, ProfileFile] = {}
    for path in sorted(folder.glob("*.toml")):
        profile = read_profile(path)
        if profile.mould.name in found:
            raise ProfileError(
                f"{path.name}: name is {profile.mould.name!r} as in another file; give each its own"
            )
        found[profile.mould.name] = profile
    return tuple(found.values())
