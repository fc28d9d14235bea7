"""Which origins this machine writes: a copied or restored book is told apart from the one it was copied from."""

import json
import os
import secrets
import tempfile
from pathlib import Path

from platformdirs import user_data_path

from gaswright.book.errors import BookUnavailable

__all__ = ["claim", "default_url", "drawn_origin", "may_write", "origins_folder"]

_LETTERS = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"  # none that is read as another


def origins_folder() -> Path:
    """Where this machine keeps the list of origins that it writes: one small file each, in the user's data folder."""
    return user_data_path("gaswright") / "origins"


def default_url() -> str:
    """The address of the user's own book."""
    return f"sqlite:///{user_data_path('gaswright') / 'book.db'}"


def drawn_origin() -> str:
    """Eight random letters."""
    return "".join(secrets.choice(_LETTERS) for _ in range(8))


def claim(origin: str, place: str, number: int, folder: Path) -> None:
    """Nothing; the list says afterwards that the origin is written at this place and had come to this number.

    Args:
        origin: eight letters.
        place: of the book.
        number: of its latest fact that left the book, in a bundle or a backup.
        folder: of the list.

    Raises:
        BookUnavailable: the list cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=folder, prefix=".new-")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            json.dump({"place": place, "number": number}, file)
            file.flush()
            os.fsync(file.fileno())
        Path(name).replace(folder / origin)
    except OSError as error:
        raise BookUnavailable(f"the list of origins in {folder} cannot be written ({error.strerror}); without it a "
                              "copy of the book could not be told from the book itself") from error


def may_write(origin: str, place: str, number: int, folder: Path) -> bool:
    """True if the origin is written on this machine, at this place, and the book is not older than what left it.

    Args:
        origin: eight letters.
        place: of the book.
        number: of the book's latest fact of that origin.
        folder: of the list.
    """
    try:
        entry = json.loads((folder / origin).read_text(encoding="utf-8"))
        return bool(entry["place"] == place and entry["number"] <= number)
    except (OSError, ValueError, KeyError, TypeError):
        return False
