"""A garment's seams in plain words: stitch, length, needle, thread, and what proves them."""

from decimal import Decimal

from fitting.queries.garments import SeamView
from fitting.reports.snapshot import SeamFact
from fitting.reports.voice import Voice, capital
from seamlab.calc.thread import needle_number
from seamlab.models import Needle, SeamRecipeVersion, Thread
from seamlab.queries.tables import stitch_types

MM_PER_INCH = Decimal("25.4")


def seam_fact(seam: SeamView, version: SeamRecipeVersion, voice: Voice) -> SeamFact:
    """One seam as the client reads it; a name that somebody typed stays as it is."""
    return SeamFact(
        place=capital(seam.place),
        words=voice.name(seam.recipe, "recipe"),
        settings=settings_in(version, voice),
        proof=_proof(seam, voice),
    )


def settings_in(version: SeamRecipeVersion, voice: Voice) -> str:
    """A version's settings as one sentence: "Lockstitch (type 301), 2.5 mm long; needle 80/12, round; ..."."""
    known = stitch_types().get(version.stitch_type)
    stitch = voice("stitch type {code}", code=version.stitch_type)
    if known is not None:
        name = voice(known.name, "stitch")
        stitch = voice("{stitch} (ISO 4915 type {code})", stitch=name, code=version.stitch_type)
    parts = [f"{capital(stitch)}, {_long(version.stitch_length_mm, voice)}"]
    if version.stitch_width_mm:
        parts[0] += ", " + voice("{width} mm wide", width=voice.number(version.stitch_width_mm.normalize()))
    if version.passes > 1:
        parts[0] += ", " + voice("sewn {count} times over", count=version.passes)
    parts.append(_needle(version.needle, voice) if version.needle else voice("sewn by hand"))
    parts.append(_thread(version, voice))
    if version.allowance_mm:
        width = voice.figure(_length(version.allowance_mm, voice.unit))
        parts.append(voice("seam allowance {width}", width=width))
    return "; ".join(parts) + "."


def _long(mm: Decimal, voice: Voice) -> str:
    said = voice.number(mm.normalize())
    if voice.unit == "in" and mm > 0:
        return voice(
            "{length} mm long (about {count} to the inch)", length=said, count=round(MM_PER_INCH / mm)
        )
    return voice("{length} mm long", length=said)


def _length(mm: Decimal, unit: str) -> str:
    from studio.calc.units import format_length

    return format_length(mm, unit, None if unit == "cm" else Decimal("0.0625"))


def _needle(needle: Needle, voice: Voice) -> str:
    try:
        size = f"{needle.metric}/{needle_number(needle.metric)}"
    except ValueError:  # a size without a second number
        size = str(needle.metric)
    said = voice("needle {size}, {point}", size=size, point=voice.name(needle.get_point_display(), "needle"))
    if needle.blades > 1:
        said = voice("{needle}, {count} blades", needle=said, count=needle.blades)
    return said


def _thread(version: SeamRecipeVersion, voice: Voice) -> str:
    said = voice("thread {thread}", thread=_named(version.needle_thread, voice))
    if version.needle_thread_ends > 1:
        said = voice("{thread}, {count} ends together", thread=said, count=version.needle_thread_ends)
    if version.under_thread and version.under_thread_id != version.needle_thread_id:
        said = voice("{thread}, below {under}", thread=said, under=_named(version.under_thread, voice))
    return said


def _named(thread: Thread, voice: Voice) -> str:
    return f"{voice.name(thread.name, 'thread')} ({voice.number(thread.tex.normalize())} tex)"


def _proof(seam: SeamView, voice: Voice) -> str:
    if seam.proven_on is None:
        return voice("sample to come")
    day = voice.day(seam.proven_on)
    if seam.cloth:
        return voice("proven by a sample on {cloth} on {day}", cloth=seam.cloth, day=day)
    return voice("proven by a sample on this cloth on {day}", day=day)
