"""A small picture of a scene: its dial, as an instrument's black face, at the moment that tells most.

The numbers are those of the engine's frame at one of the scene's claims, or of any frame where it claims
nothing: the greatest error of the dial, or, on a gauge, the greatest difference between the two aircraft or
from the beginning. Amber is the error, or the second aircraft; the hollow mark is where the reading
should be.
"""

import math
from collections.abc import Callable, Iterable

from lubberline.angles import wrapped_deg
from lubberline.publish.words import degrees
from lubberline.simulation.fitted import Frame
from lubberline.simulation.live.scene import Scene
from lubberline.simulation.scenes import run_scene

FACE, RING, INK, AMBER, GOOD = "#20262c", "#838b92", "#f4f2ec", "#f0b26c", "#62b97c"
# Half the side of the picture, and the outer radius of its scale.
HALF, SCALE = 60.0, 48.0
# Less than this is no error that a picture can show.
LEAST_DEG = 0.3
LEAST_TILT_DEG = 2.0
CARDINALS = {0: "N", 90: "E", 180: "S", 270: "W"}
# A gauge's value, the end of its scale, the numerals on it and what they are divided by.
GAUGES = {"suction": ("gauge_inhg", 7.0, (1, 3, 5), 1.0), "rotor": ("rotor_rpm", 16000.0, (4, 8, 12), 1000.0)}
# Looked at in a scene that claims nothing.
MOMENTS = 60
# Common practice, no source.
USUAL_INHG = (4.5, 5.5)
FROM_DEG, SWEEP_DEG = -130.0, 260.0

# How much a frame tells, on which dial.
Told = tuple[float, str, Frame]


def picture_of(scene: Scene) -> str:
    """The picture as SVG."""
    dial, frame = _telling(scene)
    return _as_svg(DRAWN[dial](frame, dial))


def _telling(scene: Scene) -> tuple[str, Frame]:
    """The dial, and the frame in which it tells most."""
    at_claims: list[Told] = []
    at_all: list[Told] = []
    steps: list[tuple[Scene, str]] = [(step.scene, step.entry.dial) for step in scene.steps]
    for flown, dial in steps or [(scene, scene.entry.dial)]:
        claimed = {claim.at_s for claim in flown.entry.claim}
        every_s = flown.length_s if claimed else flown.length_s / MOMENTS
        frames = run_scene(flown, max(every_s, 1.0))
        told = [(_tells(frame, frames[0], dial), dial, frame) for frame in frames[1:] or frames]
        at_claims += [one for one in told if one[2]["time_s"] in claimed]
        at_all += told
    _, dial, frame = max(at_claims or at_all, key=lambda one: one[0])
    is_right = abs(frame["shown"]["error_deg"]) < LEAST_DEG
    is_tilted = abs(frame["gyro"]["tilt_deg"]) >= LEAST_TILT_DEG
    return ("tilt" if dial == "heading" and is_right and is_tilted else dial), frame


def _tells(frame: Frame, first: Frame, dial: str) -> float:
    """How much a frame tells, in degrees or in hundredths of a gauge's scale."""
    shown = frame["shown"]
    if dial in GAUGES:
        name, greatest, _, _ = GAUGES[dial]
        than = frame.get("second", first)["shown"]
        return 100.0 * abs(float(shown[name] or 0.0) - float(than[name] or 0.0)) / greatest
    error_deg = abs(float(shown["compass_error_deg" if dial == "compass" else "error_deg"]))
    # Where the card stays right, the tilt of the housing is what is looked at.
    return error_deg + 0.001 * abs(float(frame["gyro"]["tilt_deg"]))


def _at(radius: float, angle_deg: float) -> tuple[float, float]:
    """A point of the picture, clockwise from the top."""
    angle = math.radians(angle_deg)
    return radius * math.sin(angle), -radius * math.cos(angle)


def _strokes(angles_deg: Iterable[float], inner: float, outer: float) -> str:
    pairs = ((_at(inner, angle), _at(outer, angle)) for angle in angles_deg)
    return "".join(f"M{a[0]:.1f} {a[1]:.1f}L{b[0]:.1f} {b[1]:.1f}" for a, b in pairs)


def _arc(radius: float, from_deg: float, to_deg: float) -> str:
    (x0, y0), (x1, y1) = _at(radius, from_deg), _at(radius, to_deg)
    large, clockwise = int(abs(to_deg - from_deg) > 180.0), int(to_deg > from_deg)
    return f"M{x0:.1f} {y0:.1f}A{radius:g} {radius:g} 0 {large} {clockwise} {x1:.1f} {y1:.1f}"


def _line(data: str, colour: str, width: float) -> str:
    return f'<path d="{data}" fill="none" stroke="{colour}" stroke-width="{width:g}"/>'


def _text(x: float, y: float, text: str, size: float, colour: str = INK) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" font-weight="700" text-anchor="middle" '
        f'fill="{colour}">{text}</text>'
    )


def _error(error_deg: float) -> str:
    return degrees(error_deg, 0 if abs(error_deg) >= 10.0 else 1)


def _mark(angle_deg: float, colour: str, fill: str) -> str:
    """A triangle at the rim that points inwards."""
    return (
        f'<path transform="rotate({angle_deg:.1f})" d="M-6 -58H6L0 -47Z" fill="{fill}" stroke="{colour}" '
        'stroke-width="2"/>'
    )


def _heading(frame: Frame, _: str) -> list[str]:
    """The card under its lubber line, the way it has drifted, and where it should be."""
    shown, second = frame["shown"], frame.get("second")
    reads_deg, error_deg = shown["indicated_deg"], shown["error_deg"]
    parts = [f'<g transform="rotate({-reads_deg:.1f})">', _line(_strokes(range(0, 360, 30), 41, 48), INK, 2)]
    for angle, letter in CARDINALS.items():
        parts.append(f'<g transform="rotate({angle})">{_text(0, -26, letter, 15)}</g>')
    parts.append("</g>")
    if abs(error_deg) >= LEAST_DEG:
        parts += [_line(_arc(52.5, 0, -error_deg), AMBER, 4), _mark(-error_deg, INK, FACE)]
    if second:
        beside_deg = wrapped_deg(second["shown"]["indicated_deg"] - reads_deg)
        parts.append(_line(_strokes([beside_deg], 14, 46), AMBER, 3.5))
    parts += [_mark(0, AMBER, AMBER), _text(0, 5, _error(error_deg), 15, AMBER)]
    return parts


def _compass(frame: Frame, _: str) -> list[str]:
    """The card behind its window: it reads the other way round."""
    shown = frame["shown"]
    reads_deg, error_deg = shown["compass_deg"], shown["compass_error_deg"]
    window = 'x="-50" y="-30" width="100" height="46" rx="4"'
    parts = [f'<clipPath id="window"><rect {window}/></clipPath>']
    parts.append(f'<rect {window} fill="#0f1317" stroke="{RING}" stroke-width="2"/>')
    parts.append('<g clip-path="url(#window)">')
    for mark_deg in range(0, 360, 10):
        x = -wrapped_deg(mark_deg - reads_deg)
        if abs(x) < 60:
            parts.append(_line(f"M{x:.1f} {4 if mark_deg % 30 else 0}V16", INK, 2))
            if mark_deg % 30 == 0:
                parts.append(_text(x, -7, CARDINALS.get(mark_deg, str(mark_deg // 10)), 17))
    parts += ["</g>", _line("M0 -31V17", AMBER, 2.5), _text(0, 39, _error(error_deg), 16, AMBER)]
    return parts


def _gauge(frame: Frame, dial: str) -> list[str]:
    """A round gauge; the second aircraft's needle is amber."""
    name, greatest, numerals, per = GAUGES[dial]

    def angle(value: float) -> float:
        return FROM_DEG + SWEEP_DEG * min(value, greatest) / greatest

    parts = []
    if dial == "suction":
        parts.append(_line(_arc(SCALE, *map(angle, USUAL_INHG)), GOOD, 6))
    steps = [step * per for step in range(int(greatest / per) + 1)]
    parts.append(_line(_strokes(map(angle, steps), 44, 52), INK, 1.6))
    for numeral in numerals:
        x, y = _at(32, angle(numeral * per))
        parts.append(_text(x, y + 5, str(numeral), 15))
    value = frame["shown"][name] or 0.0
    if "second" in frame:
        parts.append(_line(_strokes([angle(frame["second"]["shown"][name] or 0.0)], -8, 45), AMBER, 3.5))
    parts += [_line(_strokes([angle(value)], -8, 45), INK, 3.5), f'<circle r="5" fill="{INK}"/>']
    text = f"{value:.1f}" if dial == "suction" else f"{value:,.0f}"
    parts.append(_text(0, 40, text, 15))
    return parts


def _tilt(frame: Frame, _: str) -> list[str]:
    """The housing tilted in the outer gimbal, seen from the side."""
    tilt_deg = frame["gyro"]["tilt_deg"]
    return [
        _line("M-52 0H52", RING, 1.6),
        _line(_arc(44, 90, 90 - tilt_deg), AMBER, 4),
        f'<g transform="rotate({-tilt_deg:.1f})">',
        f'<rect x="-34" y="-26" width="68" height="52" rx="8" fill="none" stroke="{INK}" stroke-width="3"/>',
        f'<rect x="-9" y="-22" width="18" height="44" rx="3" fill="{INK}"/>',
        _line("M-44 0H44", AMBER, 2.5),
        "</g>",
        _text(0, 50, _error(tilt_deg), 15, AMBER),
    ]


DRAWN: dict[str, Callable[[Frame, str], list[str]]] = {
    "heading": _heading,
    "compass": _compass,
    "suction": _gauge,
    "rotor": _gauge,
    "tilt": _tilt,
}


def _as_svg(parts: list[str]) -> str:
    face = f'<circle r="58" fill="{FACE}" stroke="{RING}" stroke-width="2"/>'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{-HALF:g} {-HALF:g} {2 * HALF:g} {2 * HALF:g}" '
        f'font-family="system-ui, sans-serif">{face}{"".join(parts)}</svg>'
    )
