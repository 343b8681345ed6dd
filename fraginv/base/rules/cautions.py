"""The usual cautions, their wording and where it comes from."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: a key, what to show, and the source of what it says."""

    key: str
    text: str
    source: str


ALL = (
    Caution(
        "palytoxin",
        "May carry palytoxin, which can make people badly ill. Treat every zoanthid alike: keep "
        "animal and rock under water, wear gloves and eye protection, and cover every cut in the "
        "skin. Never pour hot water on it, heat it, steam it, or scrub it dry or under a spray. "
        "Wipe tools and surfaces with 1 part plain household bleach to 9 parts water, mixed with "
        "nothing else, in moving air. With fever, cough, hard breathing, a metallic taste, sore "
        "eyes or a fast heart afterwards, get urgent medical care and say that you handled coral.",
        "Ornamental Aquatic Trade Association with Health Protection Scotland, leaflet on "
        "palytoxin, 2018; Hamade et al., CDC MMWR 2015;64(31):852-855; gloves and eye protection: "
        "common practice",
    ),
    Caution(
        "saw",
        "Saws and bone cutters cut, and chips fly. Wear eye protection, keep the splash shield on "
        "and water on the blade, keep fingers out of its line, and plug the saw into an outlet "
        "with ground-fault protection. Glue bonds skin at once.",
        "common practice, no single published source",
    ),
    Caution(
        "dips",
        "Dips and medicines stain, irritate and kill. Wear gloves and eye protection, measure the "
        "dose, time it, label the tub, follow the maker's leaflet, and never pour a dip back into "
        "the system.",
        "common practice, no single published source",
    ),
    Caution(
        "plant_room",
        "Salt water and mains power share this room: ground-fault protection on every outlet, "
        "drip loops, dry hands. Floors are wet. Ozone and carbon dioxide need moving air and an "
        "alarm; never look into an ultraviolet lamp. Keep cuts out of tank water and wash hands "
        "and arms with soap afterwards. A lump on the skin that appears weeks after a cut is for "
        "a doctor, who should hear about the tank.",
        "skin: National Jewish Health and Anne Arundel County Department of Health on "
        "Mycobacterium marinum; the rest: common practice, no single published source",
    ),
    Caution(
        "cites",
        "Listed under CITES Appendix II: moving this coral across a border needs permits, whatever "
        "the size of the piece. Inside one country no CITES permit is needed for a sale, but proof "
        "of lawful origin should travel with the frag.",
        "CITES Animals Committee AC22 Inf. 8 and Notification 2002/072; confirm against the "
        "Appendices in force",
    ),
    Caution(
        "protected",
        "Some species of this genus are protected by national law. Check the species before it is "
        "cut, moved or sold, keep its origin papers, and ask the wildlife authority when in doubt.",
        "US Endangered Species Act listings, 79 FR 53851 (10 September 2014) and 89 FR 101993 "
        "(17 December 2024); Lacey Act, 16 U.S.C. 3372",
    ),
    Caution(
        "tax",
        "Tax rates, the basis of rounding, resale certificates and exemptions are for the "
        "organisation and its tax adviser to settle. Check them before you rely on these figures.",
        "common practice, no source; rounding after Streamlined Sales and Use Tax Agreement "
        "section 324",
    ),
    Caution(
        "advice",
        "These notes help staff find questions to ask. They are no legal, tax, medical or "
        "veterinary advice. Rules differ by place and change: ask your wildlife, tax and safety "
        "authorities and licensed practitioners before you act.",
        "own words",
    ),
)

CAUTIONS: Mapping[str, Caution] = MappingProxyType({caution.key: caution for caution in ALL})
