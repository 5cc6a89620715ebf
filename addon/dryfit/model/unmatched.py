"""What a brief names under ``[roles]`` and no object is called: a piece may be missing, or its name mistyped."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Unmatched:
    """One entry of ``[roles]`` that no object matches.

    Attributes
    ----------
    role
        The role it stands under.
    entry
        The name or pattern, as the brief has it.
    nearest
        The name of an object that comes near it, or ``""``.
    counts
        Whether a design may not pass without it. A name promises one object. A pattern takes all such as there are, and
        one brief may serve designs with and without them; it counts only where its whole role matches nothing and
        objects play that role by what they carry themselves, which the brief was to overrule.
    """

    role: str
    entry: str
    nearest: str = ""
    counts: bool = False

    @property
    def words(self) -> str:
        """What to tell, a sentence."""
        near = f" (nearest: '{self.nearest}')" if self.nearest else ""
        return f"[roles] {self.role}: '{self.entry}' matches no object{near}."

    @property
    def mend(self) -> str:
        """What to do about it, a clause."""
        return (
            f"name the object '{self.entry}', or mend the entry under [roles] {self.role}; where only some designs "
            "have such a piece, write a pattern with *"
        )
