"""Everything that a fit report can say, gathered from the code, the templates and the house's tables, by context."""

import ast
import re
from collections import defaultdict
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
SPEAKING = ("fitting/reports", "fitting/queries", "fitting/services", "fitting/web")
TEMPLATES = (
    "fitting/reports/templates/report.html",
    "fitting/templates/fitting/garment/client_link.html",
    "fitting/templates/fitting/garment/client_summary.html",
    "fitting/templates/fitting/garment/_summary.html",
)
SAY = re.compile(r'{% say "([^"]+)"')


def in_code() -> dict[str, set[str]]:
    """The constant sentences that the code gives to a voice: ``voice("...")``, ``voice("...", "context")``."""
    found: dict[str, set[str]] = defaultdict(set)
    for folder in SPEAKING:
        for path in sorted((ROOT / folder).rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if not (isinstance(node, ast.Call) and _is_voice(node.func) and node.args):
                    continue
                text = node.args[0]
                if isinstance(text, ast.Constant) and isinstance(text.value, str):
                    context = node.args[1].value if len(node.args) > 1 else "report"  # type: ignore[attr-defined]
                    found[context].add(text.value)
    return found


def in_templates() -> set[str]:
    """The sentences of what a client reads."""
    return {
        text
        for name in TEMPLATES
        if (ROOT / name).exists()
        for text in SAY.findall((ROOT / name).read_text(encoding="utf-8"))
    }


def in_tables() -> dict[str, set[str]]:
    """What the house's tables can put into a report."""
    from fitting.figures.alterations import GARMENTS
    from fitting.figures.zones import WORDS
    from fitting.models import FitNote, FittingSession, Garment
    from fitting.queries.care import care_table
    from fitting.queries.cautions import cautions_of_garment
    from fitting.queries.checkpoints import CHECKPOINTS
    from fitting.queries.fittings import PLACES
    from fitting.queries.paper_zones import paper_zones, sided_zones
    from fitting.queries.report_facts import SIDES
    from fitting.queries.signs import sign_table
    from fitting.reports.pictures import VIEWS
    from seamlab.models import Needle
    from seamlab.queries.library import library
    from seamlab.queries.tables import fibres, stitch_types
    from studio.queries.catalogue import catalogue

    signs = sign_table()
    cautions = cautions_of_garment(for_child=True, materials=("elastic", "adhesive"))
    return {
        "report": {*SIDES.values(), *VIEWS.values()},
        "measure": {row.name for row in catalogue().measures.values() if row.kind != "weight"},
        "zone": {row.name for row in (*paper_zones().values(), *sided_zones().values())},
        "place": set(PLACES.values()),
        "sign": {
            *(row.name for row in signs.signs.values()),
            *signs.directions.values(),
            *(row.name for row in signs.changes.values()),
        },
        "decision": {str(label) for label in FitNote.Decision.labels},
        "fitting": {str(label) for label in FittingSession.Kind.labels},
        "kind": {str(words) for _, words in Garment._meta.get_field("kind").flatchoices},
        "change": {"lengthen", "shorten", "let out", "take in"},
        "usual": {"lengthened", "shortened", "let out", "taken in"},
        "figure": set(WORDS.values()),
        "piece": {piece.name for pieces in GARMENTS.values() for piece in pieces},
        "unit": {"cm", "in"},
        "next": {row.next_step for row in CHECKPOINTS},
        "caution": {words for row in cautions for words in (row.title, row.text, *row.refer)},
        "care": {row["text"] for row in care_table()},
        "fibre": {row.name for row in fibres()},
        "stitch": {row.name for row in stitch_types().values()},
        "needle": {str(label) for label in Needle.Point.labels},
        "thread": {row.name for row in library().threads.values()},
        "recipe": {row.name for row in library().recipes},
    }


def wanted() -> dict[str, set[str]]:
    """All of it."""
    found: dict[str, set[str]] = defaultdict(set)
    for source in (in_code(), {"report": in_templates()}, in_tables()):
        for context, texts in source.items():
            found[context] |= texts
    return dict(found)


def _is_voice(func: ast.expr) -> bool:
    """``voice(...)``, and ``self(...)`` inside the voice itself."""
    return isinstance(func, ast.Name) and func.id in {"voice", "self"}
