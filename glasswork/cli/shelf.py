"""Where profiles and samples are found: a path, the user's own folder, or the shipped ones."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Final

from glasswork.errors import ProfileError, ReadError

KINDS: Final = ("palettes", "printers", "lights", "boards", "cutters", "pages")
MAX_BYTES: Final = 256 * 1024 * 1024


def read_file(path: Path) -> bytes:
    """The bytes of a file.

    Raises: ReadError, if it is missing, unreadable, or larger than 256 MiB
    """
    try:
        size = path.stat().st_size
        if path.is_dir():
            raise ReadError(str(path), "is a folder", "name a file")
        if size > MAX_BYTES:
            raise ReadError(
                str(path), f"{size} bytes is over the limit of {MAX_BYTES}", "name a smaller file"
            )
        return path.read_bytes()
    except FileNotFoundError as exc:
        raise ReadError(str(path), "no such file", "check the name and the folder") from exc
    except PermissionError as exc:
        raise ReadError(str(path), "may not be read", "check its permissions") from exc


def shipped() -> Path:
    """The folder that holds `profiles` and `sample_designs`: in the wheel, or the checkout."""
    inside = Path(__file__).parents[1] / "shipped"
    return inside if inside.is_dir() else Path(__file__).parents[2]


def user_profiles() -> Path:
    """The user's own profiles: $GLASSWORK_HOME/profiles, or the place the system gives."""
    home = os.environ.get("GLASSWORK_HOME")
    if home:
        return Path(home) / "profiles"
    config = os.environ.get("XDG_CONFIG_HOME") or os.environ.get("APPDATA")
    return (Path(config) if config else Path.home() / ".config") / "glasswork" / "profiles"


def names(kind: str) -> list[str]:
    """What can be named of a kind, the user's own first."""
    folders = (user_profiles() / kind, shipped() / "profiles" / kind)
    found = {path.stem for folder in folders if folder.is_dir() for path in folder.glob("*.toml")}
    return sorted(found)


def find(kind: str, name: str, *, beside: Path | None = None) -> Path:
    """The file of a profile: a path (also beside the project file), or a name on the shelf.

    Raises: ProfileError, if there is none; the known names are listed
    """
    if name.lower().endswith(".toml"):
        for folder in (beside, Path()):
            if folder is not None and (folder / name).is_file():
                return folder / name
    elif Path(name).name == name:
        for folder in (user_profiles() / kind, shipped() / "profiles" / kind):
            for spelled in (name, name.lower()):
                if (folder / f"{spelled}.toml").is_file():
                    return folder / f"{spelled}.toml"
    known = ", ".join(names(kind))
    raise ProfileError(
        name, f"no such {kind.removesuffix('s')}", f"known: {known}; or a .toml file"
    )


def siblings(path: Path) -> Callable[[str], bytes]:
    """Reads files named in a profile, out of the profile's own folder and no other.

    Raises: ProfileError, if a name leads out of the folder
    """

    def load(name: str) -> bytes:
        target = (path.parent / name).resolve()
        if path.parent.resolve() not in target.parents:
            raise ProfileError(
                str(path), f'"{name}" lies outside the profile\'s folder', "move the file beside it"
            )
        return read_file(target)

    return load


def cache_folder() -> Path:
    """Where computed tables are kept: $GLASSWORK_HOME/cache, or the place the system gives."""
    home = os.environ.get("GLASSWORK_HOME")
    if home:
        return Path(home) / "cache"
    cache = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA")
    return (Path(cache) if cache else Path.home() / ".cache") / "glasswork"
