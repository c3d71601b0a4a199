"""Cases of the operating envelope: water temperature, membrane age, state of the filters.

A plant is rated at each of them, and what governs a size is one of them: cold water and aged membranes ask for the
maximum feed pressure, hot water and aged membranes pass the most salt. A case is its own text (``cold-aged``), as
it stands behind the ``@`` of an id, and carries its parts, so that nobody takes the text to pieces.
"""

from __future__ import annotations

from desalbook.problems import TrailError

__all__ = ["FILTERS", "MEMBRANES", "TEMPERATURES", "Corner"]

TEMPERATURES = ("cold", "design", "hot")
MEMBRANES = ("new", "aged")
FILTERS = ("clean", "dirty")


class Corner(str):
    """One case: ``Corner("cold", "aged")`` is the text ``cold-aged`` with its parts.

    Parameters
    ----------
    temperature : {"cold", "design", "hot"}
    membranes : {"new", "aged"}, optional
    filters : {"clean", "dirty"}, optional
        A part that does not bear on the lines is omitted.
    """

    __slots__ = ("filters", "membranes", "temperature")

    temperature: str
    membranes: str | None
    filters: str | None

    def __new__(cls, temperature: str, membranes: str | None = None, filters: str | None = None) -> Corner:
        for part, known in ((temperature, TEMPERATURES), (membranes, (*MEMBRANES, None)), (filters, (*FILTERS, None))):
            if part not in known:
                raise TrailError(f"no case has the part {part}", where="corner")
        self = super().__new__(cls, "-".join(p for p in (temperature, membranes, filters) if p is not None))
        self.temperature, self.membranes, self.filters = temperature, membranes, filters
        return self

    @classmethod
    def of(cls, text: str) -> Corner:
        """The case a text names, such as ``hot-aged``, ``cold-dirty`` or ``design``."""
        if isinstance(text, Corner):
            return text
        temperature, *rest = text.split("-")
        membranes = next((p for p in rest if p in MEMBRANES), None)
        filters = next((p for p in rest if p in FILTERS), None)
        found = cls(temperature, membranes, filters)
        if found != text:
            raise TrailError(f"{text} is no case", where="corner")
        return found

    def __reduce__(self) -> tuple[type[Corner], tuple[str, str | None, str | None]]:
        return Corner, (self.temperature, self.membranes, self.filters)
