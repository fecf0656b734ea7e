"""Answers questions with iapws and scipy, references for general use.

Standard input holds a list of questions, each a name and its numbers in SI;
standard output gets the list of the answers.
"""

import json
import sys
import warnings

import iapws
from iapws.humidAir import HumidAir, Ma, Mw
from iapws.iapws97 import _PSat_T, _TSat_P
from math import asin, pi, sin, sqrt
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

warnings.simplefilter("ignore")  # fluids that iapws cannot find on import


air = HumidAir()


def air_pressure(density, temperature, vapour):
    """Pressure of humid air by its equation of state, vapour as a mole fraction."""
    dry = dry_share(vapour)
    return 1e3 * density**2 * air._fav(temperature, density, dry)["fird"]


def air_pressure_of_dry(dry_density, temperature, vapour):
    return air_pressure(dry_density / dry_share(vapour), temperature, vapour)


def dry_share(vapour):
    """Share of dry air by mass."""
    return (1 - vapour) * Ma / ((1 - vapour) * Ma + vapour * Mw)


def chain_centre(front, rear, links):
    """Centre distance in pitches by bisection on the tangent geometry."""
    small, large = 0.5 / sin(pi / front), 0.5 / sin(pi / rear)

    def too_long(centre):
        lean = asin((large - small) / centre)
        straight = 2 * sqrt(centre**2 - (large - small) ** 2)
        return straight + rear * (0.5 + lean / pi) + front * (0.5 - lean / pi) - links

    return brentq(too_long, small + large, links, xtol=1e-13, rtol=1e-14)


def monotone(x, count, *points):
    count = int(count)
    return float(PchipInterpolator(points[:count], points[count:])(x))


answers = {
    "saturation_pressure": lambda kelvin: 1e6 * _PSat_T(kelvin),
    "saturation_temperature": lambda pascal: _TSat_P(pascal / 1e6),
    "air_pressure": air_pressure,
    "air_pressure_of_dry": air_pressure_of_dry,
    "chain_centre": chain_centre,
    "monotone": monotone,
}

json.dump([answers[name](*numbers) for name, *numbers in json.load(sys.stdin)], sys.stdout)
