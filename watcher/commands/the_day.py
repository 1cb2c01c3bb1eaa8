"""The commands of the caster's day, as they are typed; what each needs is imported when it runs."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from models.slip_weight import SlipMeasure

SettingsFile = Annotated[Path, typer.Option("--settings", help="The settings file.")]
BenchPath = Annotated[
    Path | None, typer.Option("--bench", help="The bench's file; else the one that the settings name.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object.")]


def add_to(app: typer.Typer, one_sentence: Callable[[], AbstractContextManager[None]]) -> None:
    """Add these commands; `one_sentence` ends them with a sentence where what was given cannot be used."""

    @app.command()
    def slip(
        litre_g: Annotated[float | None, typer.Option("--litre", help="Weight of a litre in g.")] = None,
        pint_oz: Annotated[
            float | None, typer.Option("--pint", help="Weight of an imperial pint in ounces.")
        ] = None,
        us_pint_g: Annotated[
            float | None, typer.Option("--us-pint", help="Weight of a US pint in g.")
        ] = None,
        twaddell: Annotated[float | None, typer.Option("--twaddell", help="Degrees Twaddell.")] = None,
        baume: Annotated[float | None, typer.Option("--baume", help="Degrees Baume; with --modulus.")] = None,
        gravity: Annotated[float | None, typer.Option("--gravity", help="Specific gravity itself.")] = None,
        modulus: Annotated[
            float | None,
            typer.Option("--modulus", help="Printed on the hydrometer: 145, 144, 144.3, 146.78."),
        ] = None,
        stirred: Annotated[
            bool, typer.Option("--stirred", help="The whole tank was stirred through before.")
        ] = False,
        temperature: Annotated[float | None, typer.Option("--temperature", help="Of the slip, in C.")] = None,
        flow: Annotated[
            float | None, typer.Option("--flow", help="Seconds to run out of the cup, just stirred.")
        ] = None,
        cup: Annotated[
            str | None, typer.Option("--cup", help="A known cup, such as ford_4 or iso_4mm.")
        ] = None,
        stood: Annotated[
            float | None, typer.Option("--stood", help="Seconds to run out after standing.")
        ] = None,
        stood_min: Annotated[
            float | None, typer.Option("--stood-min", help="How many minutes it stood.")
        ] = None,
        band: Annotated[
            str | None, typer.Option("--band", help="Your own LOW:HIGH, in the measure that you read.")
        ] = None,
        flow_band: Annotated[
            str | None, typer.Option("--flow-band", help="Your own LOW:HIGH of the flow time in s.")
        ] = None,
        tank: Annotated[float | None, typer.Option("--tank", help="Slip in the tank, in L.")] = None,
        thicker: Annotated[
            float | None,
            typer.Option("--thicker", help="Thicker slip at hand, in the measure that you read."),
        ] = None,
        grains: Annotated[
            float | None,
            typer.Option("--grains", help="Specific gravity of the dry clay's grains; else 2.6."),
        ] = None,
        keep: Annotated[
            bool, typer.Option("--keep", help="Keep it as the day's slip in the bench's memory.")
        ] = False,
        write: Annotated[
            bool, typer.Option("--write", help="Put its gravity into the bench's file, the old one kept.")
        ] = False,
        bench: BenchPath = None,
        settings: SettingsFile = Path("tipbell.toml"),
        as_json: AsJson = False,
    ) -> None:
        """Check the morning's slip: what it holds, whether it is in your band, what to do first."""
        with one_sentence():
            from models.slip_weight import SlipMeasure
            from watcher.commands.slip import SlipAsked
            from watcher.commands.slip import slip as run
            from watcher.commands.slip_reading import SlipWords

            measure, reading = _one_of(
                {
                    SlipMeasure.LITRE_G: ("--litre", litre_g),
                    SlipMeasure.IMPERIAL_PINT_OZ: ("--pint", pint_oz),
                    SlipMeasure.US_PINT_G: ("--us-pint", us_pint_g),
                    SlipMeasure.TWADDELL_DEG: ("--twaddell", twaddell),
                    SlipMeasure.BAUME_DEG: ("--baume", baume),
                    SlipMeasure.SPECIFIC_GRAVITY: ("--gravity", gravity),
                }
            )
            words = SlipWords(
                measure,
                reading,
                modulus,
                stirred,
                temperature,
                flow,
                stood,
                stood_min,
                cup,
                _ends("--band", band),
                _ends("--flow-band", flow_band),
                tank,
                thicker,
                grains,
            )
            run(words, SlipAsked(settings, bench, keep, write, as_json))


def _one_of(given: dict[SlipMeasure, tuple[str, float | None]]) -> tuple[SlipMeasure, float]:
    from watcher.commands.refused import Refused

    found = [(measure, value) for measure, (_, value) in given.items() if value is not None]
    if len(found) != 1:
        options = ", ".join(option for option, _ in given.values())
        raise Refused(f"{len(found)} weights of the slip are given; give one of {options}")
    return found[0]


def _ends(option: str, text: str | None) -> tuple[float, float] | None:
    from watcher.commands.refused import Refused

    if text is None:
        return None
    try:
        low, high = (float(part) for part in text.split(":"))
    except ValueError:
        raise Refused(f"{option} is '{text}'; give LOW:HIGH, such as 1740:1760") from None
    return low, high
