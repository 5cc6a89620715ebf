"""Properties changed for a while and put back, whatever happens in between."""

from contextlib import ExitStack

from .blender import BlenderData


class Borrowed(ExitStack):
    """A context that remembers every property it changes and puts them back in reverse order."""

    def set(self, owner: BlenderData, attribute: str, value: object) -> None:
        """Set ``owner.attribute`` until the context ends.

        Raises
        ------
        AttributeError, TypeError
            When the owner does not take it; nothing is remembered then.
        """
        before = getattr(owner, attribute)
        if before == value:
            return
        setattr(owner, attribute, value)
        self.callback(setattr, owner, attribute, before)
