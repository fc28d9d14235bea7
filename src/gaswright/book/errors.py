"""The errors of the book; each is one of the two that doors know: input, or refused on the facts."""

from pathlib import Path

from gaswright.errors import InputError, Refused

__all__ = ["BookDamaged", "BookUnavailable", "BundleDamaged", "BundleGap", "Fork", "KeyReused", "ReadOnlyBook"]


class BookUnavailable(InputError):  # noqa: N818  what happened, in the words of the book
    """The book cannot be reached, read or written now: no such file, locked, disk full, no rights. Nothing was lost."""


class KeyReused(InputError):  # noqa: N818  what happened, in the words of the book
    """A key that already stands for one request came again with another request."""

    def __init__(self, key: str, first: str) -> None:
        """Name the key and the first fact that was recorded under it."""
        self.key, self.first = key, first
        super().__init__(f"the key {key} already stands for another request (fact {first}); "
                         "use a new key for a new entry")


class BundleDamaged(InputError):  # noqa: N818  what happened, in the words of the book
    """A bundle is not what its sender wrote."""

    def __init__(self, path: Path, where: str, what: str) -> None:
        """Name the file, the line, and what is wrong with it."""
        self.path, self.where = path, where
        super().__init__(f"{path}, {where}: {what}; nothing was merged; export the bundle again")


class BundleGap(InputError):  # noqa: N818  what happened, in the words of the book
    """A bundle does not continue what is here without a gap."""

    def __init__(self, origin: str, first_missing: int, last_missing: int) -> None:
        """Name the origin and the numbers that are missing between the book and the bundle."""
        self.origin, self.first_missing, self.last_missing = origin, first_missing, last_missing
        super().__init__(f"facts {origin}-{first_missing} to {origin}-{last_missing} are neither here nor in the "
                         f"bundle; nothing was merged; export again from number {first_missing} on")


class Fork(Refused):
    """One id stands for two different facts: a copy of a book was written on under the same origin."""

    def __init__(self, fact: str, hash_here: str, hash_there: str) -> None:
        """Name the fact and both hashes."""
        self.fact, self.hash_here, self.hash_there = fact, hash_here, hash_there
        super().__init__(f"fork: {fact} here has the hash {hash_here}, in the bundle {hash_there}; nothing was merged; "
                         "keep both books and ask which one is true")


class ReadOnlyBook(Refused):
    """The book was opened for reading only; the sentence says why."""


class BookDamaged(Refused):
    """What is stored is not what was recorded; the sentence names where. Restore the latest verified backup."""
