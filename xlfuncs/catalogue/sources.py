"""Where formulas come from. A declaration cites one of these with the place in it."""

from typing import NamedTuple


class Citation(NamedTuple):
    """A source and the place in it."""

    source: str
    place: str = ""

    def __str__(self) -> str:
        return f"{self.source}, {self.place}" if self.place else self.source


class Source(NamedTuple):
    """A published work, or the plain ground that a formula rests on."""

    title: str

    def at(self, place: str = "") -> Citation:
        return Citation(self.title, place)


DEFINITION = Source("by definition")
COMMON_PRACTICE = Source("common practice, no published source")
FAO56 = Source("Allen, Pereira, Raes and Smith (1998), FAO Irrigation and Drainage Paper 56")
FAO29 = Source("Ayers and Westcot (1985), FAO Irrigation and Drainage Paper 29 Rev. 1")
NEH623_7 = Source("USDA-NRCS National Engineering Handbook, Part 623, Chapter 7 (2013)")
SCS_TR21 = Source("USDA-SCS Technical Release 21 (1970)")
EPANET = Source("Rossman (2000), EPANET 2 Users Manual, EPA/600/R-00/057")
ENGINEERING_ECONOMY = Source("Newnan, Engineering Economic Analysis")
COST_ACCOUNTING = Source("variance analysis of standard costing, as cost accounting texts give it")
