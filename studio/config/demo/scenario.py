"""The invented studio: its people, bodies, paper, cloth, thread and seams. Plain data; figures are made up.

Day numbers count back from today. Lengths are typed the way people type them.
"""

from dataclasses import dataclass, field
from decimal import Decimal as D

STUDIO = "Halyard Street Sewing School"
PASSWORD = "chalk and thread"  # noqa: S105 - printed on the screen by the demo, for its own studio on this machine
OWNER = ("Signe Aldervik", "signe@halyard.example")
INSTRUCTOR = ("Paulo Teixeira", "paulo@halyard.example")
CLERK = ("Hanna Brück", "hanna@halyard.example")


@dataclass(frozen=True)
class Taken:
    """One measuring: how many days ago, and what was typed (two texts where the tape was taken twice)."""

    days_ago: int
    readings: dict[str, tuple[str, ...]]
    over: str = "close_clothing"
    notes: str = ""
    guardian_present: str = ""


@dataclass(frozen=True)
class Person:
    name: str
    telephone: str = ""
    email: str = ""
    born: tuple[int, int, int] | None = None
    unit: str = "cm"
    body_model: str = "both"
    guardian: str = ""
    guardian_email: str = ""
    notes: str = ""
    measurings: list[Taken] = field(default_factory=list)


LEOCADIA = Person(
    name="Leocadia Marchetti",
    telephone="+44 20 7946 0321",
    email="leocadia@post.example",
    born=(1983, 5, 17),
    body_model="female",
    notes="Prefers skirts that sit at the natural waist.",
    measurings=[
        Taken(
            402,
            {
                "height": ("166.5",),
                "neck_base_girth": ("38.5",),
                "shoulder_length": ("12.2",),
                "chest_girth": ("91", "91.4"),
                "bust_girth": ("97", "96.6"),
                "waist_girth": ("80.5", "81"),
                "hip_girth": ("103.5", "103.8"),
                "back_waist_length": ("40.5",),
                "waist_to_hip": ("22", "22.2"),
                "body_rise": ("27.5",),
                "inside_leg": ("75",),
                "thigh_girth": ("60.5",),
                "arm_length": ("58.5",),
                "upper_arm_girth": ("30.2",),
                "wrist_girth": ("16",),
            },
        ),
        Taken(
            3,
            {
                "height": ("166.5",),
                "neck_base_girth": ("38.5",),
                "shoulder_length": ("12.3",),
                "chest_girth": ("91.5", "91.2"),
                "bust_girth": ("97.5", "97.2"),
                "waist_girth": ("84", "84.4"),
                "hip_girth": ("104", "104.3"),
                "back_waist_length": ("40.5",),
                "waist_to_hip": ("22.2", "22.4"),
                "body_rise": ("27.5",),
                "inside_leg": ("75",),
                "thigh_girth": ("61",),
                "arm_length": ("58.5",),
                "upper_arm_girth": ("30.4",),
                "wrist_girth": ("16",),
            },
            notes="Measured in the afternoon class.",
        ),
    ],
)
OTHERS = [
    Person(
        name="Bartholomew Achterberg-Lindqvist",
        telephone="+44 20 7946 0188",
        born=(1969, 11, 2),
        unit="in",
        measurings=[
            Taken(
                35,
                {
                    "height": ("71 1/2",),
                    "neck_girth": ("15 3/4",),
                    "chest_girth": ("42 1/4", "42"),
                    "waist_girth": ("38 1/2", "38 3/8"),
                    "hip_girth": ("41 1/4", "41 1/4"),
                    "back_waist_length": ("18",),
                    "body_rise": ("11 1/4",),
                    "waist_to_hip": ("8 3/4",),
                    "inside_leg": ("32 1/2",),
                    "thigh_girth": ("23 3/4",),
                    "arm_length": ("25 1/4",),
                    "wrist_girth": ("7",),
                },
            )
        ],
    ),
    Person(
        name="Odile Farrow",
        born=(2016, 2, 9),
        guardian="Maren Farrow",
        guardian_email="maren@post.example",
        notes="In the Saturday children's class.",
        measurings=[
            Taken(
                12,
                {
                    "height": ("138.5",),
                    "chest_girth": ("68", "67.6"),
                    "waist_girth": ("60.5", "61"),
                    "hip_girth": ("73", "73"),
                    "waist_to_hip": ("15.5",),
                    "body_rise": ("21",),
                    "back_waist_length": ("31",),
                    "shoulder_length": ("9.8",),
                    "arm_length": ("47",),
                    "upper_arm_girth": ("21",),
                    "inside_leg": ("63.5",),
                    "head_girth": ("53",),
                },
                guardian_present="Maren Farrow",
            )
        ],
    ),
    Person(
        name="Žofie Novotná",
        telephone="+420 601 234 567",
        email="zofie@post.example",
        born=(1991, 8, 30),
    ),
]


@dataclass(frozen=True)
class Paper:
    """A pattern by rule: the smallest size's measures (cm) and the step from size to size (cm)."""

    name: str
    kind: str
    closeness: str
    structure: str
    first: dict[str, tuple[str, str]]
    sizes: tuple[str, ...] = ("34", "36", "38", "40", "42", "44", "46", "48")
    base_height: str = "168"
    base_cup: str | None = None
    stretch_percent: str | None = None
    notes: str = ""


# The project's own drafts; finished measures of the garment.
PATTERNS = [
    Paper(
        "Straight skirt",
        "skirt",
        "fitted",
        "woven",
        {"waist": ("66.8", "4"), "hip": ("94", "4"), "waist_to_hip": ("20", "0.2")},
        notes="Two darts front, two back, centre back zip and vent.",
    ),
    Paper(
        "Fitted dress",
        "dress",
        "fitted",
        "woven",
        {
            "bust": ("86", "4"), "waist": ("69", "4"), "hip": ("94", "4"),
            "shoulder_to_waist": ("41.6", "0.4"), "waist_to_hip": ("20", "0.2"),
        },
        base_cup="5",
        notes="Bust and waist darts, set-in sleeve.",
    ),
    Paper(
        "Tapered trousers",
        "trousers",
        "fitted",
        "woven",
        {
            "waist": ("67", "4"), "hip": ("93.5", "4"), "thigh": ("57", "2.4"),
            "waist_to_hip": ("20", "0.2"), "rise": ("26.4", "0.6"), "leg": ("78", "0"),
        },
        notes="Front pleat, side zip.",
    ),
    Paper(
        "Collared shirt",
        "shirt",
        "semi_fitted",
        "woven",
        {
            "bust": ("92", "4"), "waist": ("88", "4"), "hip": ("96", "4"),
            "back_waist": ("41", "0.4"), "sleeve": ("60", "0.4"),
        },
    ),
    Paper(
        "Knit T-shirt",
        "tshirt",
        "close",
        "knit",
        {"bust": ("79", "4"), "waist": ("72", "4"), "hip": ("86", "4")},
        stretch_percent="35",
    ),
]  # fmt: skip


@dataclass(frozen=True)
class Fabric:
    name: str
    structure: str
    construction: str
    fibres: tuple[tuple[str, str], ...]
    weight_gsm: str
    thickness_mm: str
    width_cm: str
    usable_cm: str
    direction: str
    stretch: dict[str, tuple[str, str, str]] = field(
        default_factory=dict
    )  # way: relaxed, stretched, released (mm)
    wash: dict[str, tuple[str, str]] = field(default_factory=dict)  # way: before, after (mm)
    drape: str = ""
    care: str = ""


TEAL_TWILL = Fabric(
    "Teal wool twill", "woven", "twill", (("wool", "80"), ("polyamide", "20")), "255", "0.62", "150", "147", "sheen",
    {"lengthwise": ("100", "102", "100"), "crosswise": ("100", "104", "101")},
    {"lengthwise": ("500", "492"), "crosswise": ("500", "496")},
    "Firm, holds a pleat", "Steam under a cloth; wash by hand, cool",
)  # fmt: skip
FABRICS = [
    TEAL_TWILL,
    Fabric(
        "Unbleached cotton calico", "woven", "plain weave", (("cotton", "100"),), "145", "0.34", "140", "138",
        "two_way",
        {"lengthwise": ("100", "101", "100"), "crosswise": ("100", "102", "100")},
        {"lengthwise": ("500", "480"), "crosswise": ("500", "489")}, "Crisp", "Hot wash",
    ),
    Fabric(
        "Plum cotton-elastane jersey", "knit", "single jersey", (("cotton", "95"), ("elastane", "5")), "210", "0.71",
        "160", "156", "not_known",
        {"lengthwise": ("100", "118", "101"), "crosswise": ("100", "142", "103")},
        {"lengthwise": ("500", "478"), "crosswise": ("500", "490")}, "Soft, rolls at the edge", "Wash at 30 degrees",
    ),
    Fabric(
        "Grey wool flannel", "woven", "twill, brushed", (("wool", "100"),), "310", "0.98", "152", "149", "nap",
        {"lengthwise": ("100", "103", "100"), "crosswise": ("100", "105", "101")},
        {}, "Soft, thick", "Dry clean",
    ),
]  # fmt: skip

THREADS = [
    # name, fibre, construction, tex, extension %, strength N, colours
    (
        "Polyester all-purpose, tex 30",
        "polyester",
        "spun",
        "30",
        "17",
        "10.5",
        ("teal", "grey", "black", "plum"),
    ),
    ("Textured polyester, tex 18", "polyester", "textured", "18", "65", "6.2", ("plum", "black", "white")),
    ("Cotton basting, tex 40", "cotton", "spun", "40", "7", "8", ("white",)),
]
NEEDLES = [
    (80, "round", "medium wovens"),
    (90, "round", "coating, several layers"),
    (75, "medium_ball", "jersey"),
]
MACHINES = [
    ("Class machine 4", ("301", "304"), "7", 800, "Front window. Serviced in the spring."),
    ("Overedge machine", ("504",), "6", 1300, "Three threads."),
]
CLASS_MACHINE = "Class machine 4"


@dataclass(frozen=True)
class Seam:
    name: str
    purpose: str
    seam_class: str
    structure: str
    stitch_type: str
    length: str
    width: str
    thread: str
    needle: tuple[int, str]
    tension: str = ""
    foot: str = ""
    pressing: str = ""
    stabiliser: str = ""
    passes: int = 1
    trials: tuple[dict[str, object], ...] = ()


JOIN_WOVEN = "Plain seam, medium woven"
JOIN_KNIT = "Narrow zigzag seam, jersey"
SEAMS = [
    Seam(
        JOIN_WOVEN, "join", "1", "woven", "301", "2.5", "0", THREADS[0][0], (80, "round"),
        tension="even, needle thread 4", foot="all-purpose", pressing="Press open over a roll, steam under a cloth",
        trials=(
            {
                "cloth": TEAL_TWILL.name, "before": "200", "after": "199", "stretched": "206", "end": "stopped",
                "smoothness": "4.5", "days_ago": 2,
            },
            {
                "cloth": "Unbleached cotton calico", "before": "200", "after": "198.5", "stretched": "203",
                "end": "stopped", "smoothness": "4", "days_ago": 160,
            },
        ),
    ),
    Seam(
        "Turned hem, medium woven", "hem", "6", "woven", "301", "3", "0", THREADS[0][0], (80, "round"),
        tension="even, needle thread 4", foot="all-purpose", pressing="Press the fold before sewing",
        trials=(
            {
                "cloth": TEAL_TWILL.name, "before": "200", "after": "200", "stretched": "205", "end": "stopped",
                "smoothness": "5", "days_ago": 2,
            },
        ),
    ),
    Seam(
        JOIN_KNIT, "join", "1", "knit", "304", "2", "1", THREADS[1][0], (75, "medium_ball"),
        tension="needle thread 3, looser than for a woven", foot="all-purpose, light pressure",
        stabiliser="tear-away underneath at the start", pressing="Press, do not push the iron",
        trials=(
            {
                "cloth": "Plum cotton-elastane jersey", "before": "200", "after": "203", "stretched": "290",
                "end": "stopped", "smoothness": "4", "days_ago": 90, "way": "crosswise",
            },
        ),
    ),
]  # fmt: skip

STRETCHED_KINDS = ("stopped", "held", "broke")


@dataclass(frozen=True)
class Noted:
    """A fit note of the demo's basted fitting."""

    place: str
    seen: str
    decision: str
    amount_cm: str | None
    decided: str
    sign: str = ""
    change: str = ""
    seam: str = ""


SKIRT_WORDS = "teal wool skirt"
SKIRT_NOTES = [
    Noted("waist", "Sits level, one finger fits inside the band when she is seated", "leave", None, "As planned"),
    Noted(
        "hip", "Pulls a little across the front when she walks up a step", "let_out", "0.8",
        "2 mm at each edge of the side seams", sign="strain_level", change="wider_hip", seam="side seams",
    ),
]  # fmt: skip
LAST_YEAR_WORDS = "russet linen skirt"


def cm(text: str) -> D:
    """Centimetres of this file as millimetres."""
    return D(text) * 10
