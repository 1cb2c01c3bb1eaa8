"""The slip desk: dry clay in a tank, water or clay to add, and what that does to casting time and wall."""

from __future__ import annotations

from dataclasses import dataclass

from models.constants import SOLIDS_SPECIFIC_GRAVITY
from models.constants_desk import CAKE_MOISTURE, CAKE_MOISTURE_SIGMA, WATER_G_PER_L
from models.doors import BadValue, number
from models.ranged import Ranged
from models.slip_weight import checked_sg


@dataclass(frozen=True, slots=True)
class Contents:
    """What a volume of slip is made of, [g]."""

    dry_g: float
    water_g: float


@dataclass(frozen=True, slots=True)
class Mix:
    """A volume of slip with its specific gravity, volumes taken to add up (ideal mixing)."""

    volume_l: float
    specific_gravity: float


@dataclass(frozen=True, slots=True)
class SlipChange:
    """What a change of slip does, for the same wall in the same mould.

    Attributes
    ----------
    water_per_cake_before, water_per_cake_after : float
        f, water given up per volume of cake.
    time_ratio : Ranged
        Casting time after over before, with what is not known of cake moisture and of which layer rules.
    drop_ratio : float
        Fall of the level after over before.
    """

    water_per_cake_before: float
    water_per_cake_after: float
    time_ratio: Ranged
    drop_ratio: float


def dry_and_water(volume_l: float, sg: float, *, solids_sg: float = SOLIDS_SPECIFIC_GRAVITY) -> Contents:
    """Dry clay and water in a volume of slip, by Brongniart.

    Parameters
    ----------
    volume_l : float
        Above 0, to 100 000. [L]
    sg : float
        Specific gravity of the slip, 1 to 2.5.
    solids_sg : float
        Specific gravity of the dry solids, 2 to 4; above `sg`.

    Notes
    -----
    W = (litre weight - 1000) G/(G - 1) grams per litre [S1, S2].
    """
    volume = _volume("volume", volume_l)
    grains = _solids(sg, solids_sg)
    dry = volume * WATER_G_PER_L * (sg - 1.0) * grains / (grains - 1.0)
    return Contents(dry_g=dry, water_g=volume * WATER_G_PER_L * sg - dry)


def mixed(dry_g: float, water_g: float, *, solids_sg: float = SOLIDS_SPECIFIC_GRAVITY) -> Mix:
    """Slip that dry clay and water make, if volumes add up.

    A real slip without deflocculant, with damp powder or stirred-in air reads up to 6 % lighter [S31]:
    then weigh the slip again before believing the sum or the scale.
    """
    dry = number("dry clay", dry_g, wanted="the dry clay in g, above 0 to 1e8", above=0, most=1e8)
    water = number("water", water_g, wanted="the water in g, above 0 to 1e8", above=0, most=1e8)
    grains = _grains(solids_sg)
    volume_l = (dry / grains + water) / WATER_G_PER_L
    return Mix(volume_l=volume_l, specific_gravity=(dry + water) / volume_l / WATER_G_PER_L)


def blended(parts: list[Mix]) -> Mix:
    """Slip of several slips poured together (fresh and reclaim): masses and volumes add up."""
    if not parts:
        raise BadValue("blend has no parts; give at least one slip with its volume and specific gravity")
    volumes = [_volume("part's volume", part.volume_l) for part in parts]
    masses = [
        v * checked_sg("part's specific gravity", p.specific_gravity)
        for v, p in zip(volumes, parts, strict=True)
    ]
    return Mix(volume_l=sum(volumes), specific_gravity=sum(masses) / sum(volumes))


def water_to_add_l(tank_l: float, sg_now: float, sg_wanted: float) -> float:
    """Water that thins a tank of slip to a wanted specific gravity, [L].

    V1 (s1 - s2)/(s2 - 1), a mass balance [S28]: 10 L at 1.80 to 1.75 take 0.667 L.

    Raises
    ------
    BadValue
        The slip is already lighter than wanted: water cannot help, see `thicker_slip_to_add_l`.
    """
    tank = _volume("tank", tank_l)
    now = checked_sg("specific gravity now", sg_now)
    wanted = checked_sg("wanted specific gravity", sg_wanted)
    if wanted <= 1.0 or wanted > now:
        raise BadValue(
            f"wanted specific gravity is {wanted:g}; give one above 1 and at most the {now:g} in the tank"
        )
    return tank * (now - wanted) / (wanted - 1.0)


def thicker_slip_to_add_l(tank_l: float, sg_now: float, sg_wanted: float, sg_thicker: float) -> float:
    """Thicker slip that brings a tank up to a wanted specific gravity, [L].

    V1 (s2 - s1)/(s3 - s2), a mass balance [S28].
    """
    tank = _volume("tank", tank_l)
    now = checked_sg("specific gravity now", sg_now)
    wanted = checked_sg("wanted specific gravity", sg_wanted)
    thicker = checked_sg("thicker slip's specific gravity", sg_thicker)
    if not now <= wanted < thicker:
        raise BadValue(
            f"wanted specific gravity is {wanted:g}; give one between the {now:g} in the tank and the "
            f"{thicker:g} that is added"
        )
    return tank * (wanted - now) / (thicker - wanted)


def powder_to_add_g(
    tank_l: float, sg_now: float, sg_wanted: float, *, solids_sg: float = SOLIDS_SPECIFIC_GRAVITY
) -> float:
    """Dry powder that thickens a tank of slip to a wanted specific gravity, [g].

    V1 (s2 - s1) G/(G - s2) grams per mL [S28]. Powder is dust: wet it under water, do not tip it in dry.
    """
    tank = _volume("tank", tank_l)
    now = checked_sg("specific gravity now", sg_now)
    grains = _solids(sg_wanted, solids_sg)
    if sg_wanted < now:
        raise BadValue(f"wanted specific gravity is {sg_wanted:g}; give at least the {now:g} in the tank")
    return tank * WATER_G_PER_L * (sg_wanted - now) * grains / (grains - sg_wanted)


def water_per_cake(sg: float, *, solids_sg: float, moisture: float) -> float:
    """Water given up per volume of cake, f = phi_c/phi_s - 1 [S28].

    Raises
    ------
    BadValue
        The slip is as thick as its own cake (f not above 0), or a value is absurd.
    """
    grains = _solids(sg, solids_sg)
    w = number("cake moisture", moisture, wanted="water over dry clay, 0.1 to 0.6", least=0.1, most=0.6)
    if sg <= 1.0:
        raise BadValue(f"specific gravity is {sg:g}; give that of a slip, above 1")
    f = (1.0 / (1.0 + w * grains)) * (grains - 1.0) / (sg - 1.0) - 1.0
    return number(
        "water per cake", f, wanted="a thinner slip or a drier cake: this slip casts nothing", above=0
    )


def effect_of(
    sg_before: float,
    sg_after: float,
    *,
    solids_sg: float = SOLIDS_SPECIFIC_GRAVITY,
    moisture: float = CAKE_MOISTURE,
    moisture_sigma: float = CAKE_MOISTURE_SIGMA,
) -> SlipChange:
    """Say what going from one specific gravity to another does to casting time and level drop.

    Notes
    -----
    For the same wall: where the cake rules, t goes with f; where the plaster rules, with f2 [S27]. The
    range spans both, and 1.28 sigma of cake moisture either way. The single value is the cake's. Moisture
    is floored at the door's 0.1 and stopped short of the thickest cake that this slip can still make.
    """
    before = water_per_cake(sg_before, solids_sg=solids_sg, moisture=moisture)
    after = water_per_cake(sg_after, solids_sg=solids_sg, moisture=moisture)
    ratios = []
    for shift in (-1.2816, 0.0, 1.2816):
        w = _castable_moisture(moisture + shift * moisture_sigma, max(sg_before, sg_after), solids_sg)
        f_after = water_per_cake(sg_after, solids_sg=solids_sg, moisture=w)
        f_before = water_per_cake(sg_before, solids_sg=solids_sg, moisture=w)
        ratio = f_after / f_before
        ratios += [ratio, ratio**2]
    return SlipChange(before, after, Ranged(after / before, min(ratios), max(ratios)), after / before)


def _castable_moisture(wanted: float, sg: float, solids_sg: float) -> float:
    phi_s = (sg - 1.0) / (solids_sg - 1.0)
    most = (1.0 / (phi_s * 1.03) - 1.0) / solids_sg  # cake 3 % denser than the slip
    return min(max(wanted, 0.1), most)


def _volume(field: str, volume_l: float) -> float:
    return number(field, volume_l, wanted="the volume in L, above 0 to 100000", above=0, most=1e5)


def _grains(solids_sg: float) -> float:
    return number("solids' specific gravity", solids_sg, wanted="2 to 4, about 2.6 for clay", least=2, most=4)


def _solids(sg: float, solids_sg: float) -> float:
    grains = _grains(solids_sg)
    checked_sg("specific gravity", sg)
    number("specific gravity", sg, wanted=f"less than that of the solids, {grains:g}", most=grains - 1e-9)
    return grains
