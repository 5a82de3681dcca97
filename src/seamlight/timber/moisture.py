"""Moisture content of wood in still air, and how stiffness changes with it."""

from __future__ import annotations

from typing import Literal

from scipy.optimize import brentq

from seamlight.mistake import Mistake
from seamlight.timber.elastic import ElasticFacts

Property = Literal["along", "across", "shear"]

# USDA Wood Handbook, Table 5-13, "approximate middle-trend effects": change from 12 to 6 % and to 20 %, in
# percent: modulus along the grain +9 and -13, across +20 and -23, shear modulus +20 and -20; from memory
_TO_6_PCT: dict[Property, float] = {"along": 1.09, "across": 1.20, "shear": 1.20}
_TO_20_PCT: dict[Property, float] = {"along": 0.87, "across": 0.77, "shear": 0.80}


COLDEST_C, HOTTEST_C = -20.0, 60.0  # a shop's air; the equation itself is fitted from -1 to 130 C


def check_air(temp_c: float, rh_pct: float) -> None:
    """That a temperature and a relative humidity are some shop's air.

    Raises:
        Mistake: they are not; says what was probably meant.
    """
    if not COLDEST_C <= temp_c <= HOTTEST_C:
        meant = f", or {temp_c:g}F if it was Fahrenheit" if 30 <= temp_c <= 120 else ""
        raise Mistake(f"{temp_c:g} degrees Celsius is no shop's air", do=f"give degrees such as 21{meant}")
    if not 0 <= rh_pct <= 100:
        raise Mistake(f"{rh_pct:g} % is no relative humidity", do="give 0 to 100, such as 45")
    if 0 < rh_pct < 1:
        raise Mistake(
            f"a relative humidity of {rh_pct:g} % is below any on earth",
            do=f"give percent: {100 * rh_pct:g} if it was a fraction",
        )


def emc_pct(temp_c: float, rh_pct: float) -> float:
    """Moisture content that wood comes to in air of this temperature and humidity, percent.

    Raises:
        Mistake: no such air.

    >>> round(emc_pct(20, 50), 4)
    9.2711
    """
    check_air(temp_c, rh_pct)
    return _emc_pct(temp_c, rh_pct)


def _emc_pct(temp_c: float, rh_pct: float) -> float:
    """The same for any humidity from 0 to 100, unchecked."""
    h, t = rh_pct / 100, temp_c
    # USDA Wood Handbook FPL-GTR-282 (2021), Eq. 4-5 with degrees C, transcribed
    w = 349 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * h
    bound = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return 1800 / w * (kh / (1 - kh) + bound)


def rh_for_emc_pct(temp_c: float, emc: float) -> float:
    """The relative humidity, %, at which wood settles at a moisture content of `emc` %.

    Raises:
        Mistake: no air at that temperature gives it.

    >>> round(rh_for_emc_pct(20, 8), 1)
    41.8
    """
    wettest = emc_pct(temp_c, 100)
    if not 0 <= emc <= wettest:
        raise Mistake(
            f"no air at {temp_c:g} degrees C brings wood to {emc:g} %", do=f"give 0 to {wettest:.0f} %"
        )
    return float(brentq(lambda rh: _emc_pct(temp_c, rh) - emc, 0.0, 100.0)) if emc else 0.0


def property_ratio(at_12: float, green: float, moisture_pct: float, where_green_pct: float = 25.0) -> float:
    """A property at a moisture content over the same at 12 %.

    >>> round(103_000 * property_ratio(103_000, 66_000, 8, 24))
    119473
    """
    # USDA Wood Handbook FPL-GTR-282 (2021), Eq. 5-3: P = P12 (P12 / Pg)^((12 - M) / (Mp - 12))
    at = min(moisture_pct, where_green_pct)
    return float((at_12 / green) ** ((12 - at) / (where_green_pct - 12)))


def stiffness_ratio(
    which: Property, from_mc_pct: float, to_mc_pct: float, facts: ElasticFacts | None
) -> float:
    """What a modulus is multiplied by when the wood goes from one moisture content to another.

    Along the grain by Eq. 5-3 with the species' own figures at 12 % and green where there are any; else, and
    across and in shear, by the handbook's middle trends of Table 5-13 (from memory), 12 to 6 % and to 20 %.
    """
    if which == "along" and facts is not None and facts.bending_e_mpa and facts.bending_e_green_mpa:
        where = facts.moisture_where_green_pct.value if facts.moisture_where_green_pct else 25.0
        pair = (facts.bending_e_mpa.value, facts.bending_e_green_mpa.value)
        return property_ratio(*pair, to_mc_pct, where) / property_ratio(*pair, from_mc_pct, where)
    return _trend(which, to_mc_pct) / _trend(which, from_mc_pct)


def _trend(which: Property, moisture_pct: float) -> float:
    """Exponential in the moisture content, as Eq. 5-3 is, on either side of 12 %."""
    if moisture_pct <= 12:
        return float(_TO_6_PCT[which] ** ((12 - moisture_pct) / 6))
    return float(_TO_20_PCT[which] ** ((min(moisture_pct, 25) - 12) / 8))
