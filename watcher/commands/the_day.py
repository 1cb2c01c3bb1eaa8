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
    _add_plan(app, one_sentence)

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
            str | None,
            typer.Option(
                "--band", metavar="<low:high>", help="Your own LOW:HIGH, in the measure that you read."
            ),
        ] = None,
        flow_band: Annotated[
            str | None,
            typer.Option(
                "--flow-band", metavar="<low:high>", help="Your own LOW:HIGH of the flow time in s."
            ),
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
        """Check the morning's slip against your band; say what to add.

        Give one weight, or what the hydrometer says.
        """
        with one_sentence():
            from models.slip_weight import SlipMeasure
            from watcher.commands.slip import SlipAsked
            from watcher.commands.slip import slip as run
            from watcher.desk.slip_reading import SlipWords

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


def _add_plan(app: typer.Typer, one_sentence: Callable[[], AbstractContextManager[None]]) -> None:
    @app.command()
    def plan(
        closing: Annotated[
            str | None,
            typer.Option(
                "--closing", metavar="<HH:MM>", help="Plan the whole day until HH:MM, draining included."
            ),
        ] = None,
        want: Annotated[
            list[str] | None,
            typer.Option(
                "--want",
                metavar="<name:pots>",
                help="How many of a mould; may be given again. Without: one of each mould.",
            ),
        ] = None,
        hands: Annotated[int, typer.Option("--hands", help="Pairs of hands, 1 or 2.")] = 1,
        plaster: Annotated[
            list[str] | None,
            typer.Option(
                "--plaster", metavar="<name:kg>", help="A mould's weight bone dry; may be given again."
            ),
        ] = None,
        room: Annotated[
            str,
            typer.Option(
                "--room", metavar="<C:percent>", help="TEMPERATURE:HUMIDITY of the room in C and per cent."
            ),
        ] = "20:50",
        dampest: Annotated[
            float,
            typer.Option("--dampest", help="Most free water that a cast may begin with (0.05 to 0.15)."),
        ] = 0.15,
        most_casts: Annotated[
            int, typer.Option("--most-casts", help="Casts of a mould a day, where it was never weighed.")
        ] = 5,
        drain: Annotated[float, typer.Option("--drain", help="Minutes from tip to drained.")] = 20.0,
        setting: Annotated[float, typer.Option("--set", help="Minutes from tip to demoulding.")] = 45.0,
        at: Annotated[str | None, typer.Option("--at", help="Plan as if it were HH:MM today.")] = None,
        days: Annotated[int, typer.Option("--days", help="Days that are simulated.")] = 100,
        seed: Annotated[int, typer.Option("--seed", help="The same seed gives the same answer.")] = 0,
        bench: BenchPath = None,
        settings: SettingsFile = Path("tipbell.toml"),
        as_json: AsJson = False,
    ) -> None:
        """Say which mould to pour next and when, or plan the day.

        With a closing time the whole day is planned.
        """
        with one_sentence():
            from watcher.commands.plan import PlanWords
            from watcher.commands.plan import plan as run

            run(
                PlanWords(
                    settings,
                    bench,
                    at,
                    closing,
                    hands,
                    _named("--want", want, "NAME:POTS, such as beaker:3"),
                    _named("--plaster", plaster, "NAME:KG, such as beaker:2.4"),
                    _ends("--room", room, "TEMPERATURE:HUMIDITY, such as 20:50") or (20.0, 50.0),
                    dampest,
                    most_casts,
                    drain,
                    setting,
                    days,
                    seed,
                    as_json,
                )
            )


def _named(option: str, given: list[str] | None, wanted: str) -> tuple[tuple[str, float], ...]:
    from watcher.commands.refused import Refused

    pairs = []
    for one in given or ():
        name, _, value = one.rpartition(":")
        try:
            pairs.append((name, float(value)))
        except ValueError:
            raise Refused(f"{option} is '{one}'; give {wanted}") from None
    return tuple(pairs)


def _one_of(given: dict[SlipMeasure, tuple[str, float | None]]) -> tuple[SlipMeasure, float]:
    from watcher.commands.refused import Refused

    found = [(measure, value) for measure, (_, value) in given.items() if value is not None]
    if len(found) != 1:
        options = ", ".join(option for option, _ in given.values())
        raise Refused(f"{len(found)} weights of the slip are given; give one of {options}")
    return found[0]


def _ends(
    option: str, text: str | None, wanted: str = "LOW:HIGH, such as 1740:1760"
) -> tuple[float, float] | None:
    from watcher.commands.refused import Refused

    if text is None:
        return None
    try:
        low, high = (float(part) for part in text.split(":"))
    except ValueError:
        raise Refused(f"{option} is '{text}'; give {wanted}") from None
    return low, high
