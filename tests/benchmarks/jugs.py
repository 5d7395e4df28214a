"""Jugs of wax that cool as physics has it: the true curves that forecasts are measured on.

Energy balance of one lump of wax with its jug, integrated by SciPy:

    (m·c + C_jug) dT/dt = − Σ A·(h_convection + h_radiation)·(T − room) − U_base·A_base·(T − room)

Side wall: Churchill and Chu 1975 for a vertical plate; open surface: McAdams for a hot plate facing
up; both as coded in the package `ht`. Radiation: Stefan–Boltzmann. A draught multiplies the
convection. Air properties at the film temperature: linear fits, from memory, good to 1 %
between 20 and 70 °C. The spread of jugs, waxes and rooms is our own choice.
"""

import math
from dataclasses import dataclass

import numpy as np
from ht.conv_free_immersed import Nu_horizontal_plate_McAdams, Nu_vertical_plate_Churchill
from scipy.constants import Stefan_Boltzmann
from scipy.integrate import solve_ivp

GRAVITY = 9.81


@dataclass(frozen=True)
class Vessel:
    """A jug, whatever is in it.

    Attributes:
        width_m: inside diameter.
        wall_j_per_k_m2: heat capacity of its wall, per square metre.
        emissivity: of its outside.
        base_w_per_k_m2: what the table takes through the base.
        draught: factor on natural convection.
    """

    width_m: float
    wall_j_per_k_m2: float
    emissivity: float
    base_w_per_k_m2: float
    draught: float


@dataclass(frozen=True)
class Cooling:
    """One true cooling curve, °C over seconds."""

    room_c: float
    mass_g: float
    start_c: float
    times_s: np.ndarray
    temps_c: np.ndarray

    def temp_at(self, t_s: float) -> float:
        return float(np.interp(t_s, self.times_s, self.temps_c))

    def when(self, temp_c: float) -> float:
        """Seconds at which the falling curve passes ``temp_c``."""
        return float(np.interp(-temp_c, -self.temps_c, self.times_s))


#: wall heat capacity (thickness × density × specific heat) and emissivity of common jugs
WALLS = {
    "steel": (0.0008 * 7900 * 470, (0.2, 0.45)),
    "aluminium": (0.0012 * 2700 * 900, (0.1, 0.3)),
    "glass": (0.0040 * 2500 * 840, (0.85, 0.93)),
    "plastic": (0.0022 * 900 * 1900, (0.9, 0.97)),
    "enamel": (0.0012 * 7800 * 470, (0.85, 0.93)),
}


def any_vessel(random: np.random.Generator, holds_g: float) -> Vessel:
    """A jug that suits up to ``holds_g`` of wax."""
    wall, (low, high) = WALLS[str(random.choice(list(WALLS)))]
    slim = random.uniform(0.8, 1.5)  # height over width when full
    volume = holds_g / 0.85e6
    return Vessel(
        width_m=(4 * volume / (math.pi * slim)) ** (1 / 3),
        wall_j_per_k_m2=wall * random.uniform(0.8, 1.3),
        emissivity=random.uniform(low, high),
        base_w_per_k_m2=random.uniform(1.0, 7.0),
        draught=random.choice([1.0, 1.0, 1.0, random.uniform(1.0, 1.8)]),
    )


def cool(
    vessel: Vessel,
    mass_g: float,
    start_c: float,
    room_c: float,
    heat_j_per_g_k: float,
    hotter_holds_more: float,
) -> Cooling:
    """The curve from ``start_c`` down to a few degrees above the room, at most eight hours.

    Args:
        vessel: the jug.
        mass_g: wax in it.
        start_c: temperature of the wax at the start.
        room_c: the room.
        heat_j_per_g_k: heat capacity of the wax at 65 °C.
        hotter_holds_more: part by which that grows with each degree.
    """
    height = mass_g / 0.85e6 / (math.pi * vessel.width_m**2 / 4)
    side = math.pi * vessel.width_m * height
    top = math.pi * vessel.width_m**2 / 4
    jug = vessel.wall_j_per_k_m2 * (side * 1.15 + top)

    def loss_w(temp_c: float) -> float:
        over = temp_c - room_c
        film = (temp_c + room_c) / 2
        nu, conduct, prandtl = air(film)
        expand = 1 / (film + 273.15)
        grashof = GRAVITY * expand * over / nu**2
        wall = Nu_vertical_plate_Churchill(prandtl, grashof * height**3) * conduct / height
        across = vessel.width_m / 4  # area over perimeter of a disc
        open_ = Nu_horizontal_plate_McAdams(prandtl, grashof * across**3) * conduct / across
        hot, cold = temp_c + 273.15, room_c + 273.15
        black = Stefan_Boltzmann * (hot**4 - cold**4)
        return (
            side * (vessel.draught * wall * over + vessel.emissivity * black)
            + top * (vessel.draught * open_ * over + 0.95 * black)
            + top * vessel.base_w_per_k_m2 * over
        )

    def fall(_: float, state: np.ndarray) -> list[float]:
        heat = heat_j_per_g_k * (1 + hotter_holds_more * (state[0] - 65))
        return [-loss_w(state[0]) / (mass_g * heat + jug)]

    def cold_enough(_: float, state: np.ndarray) -> float:
        return float(state[0]) - room_c - 8

    cold_enough.terminal = True  # type: ignore[attr-defined]
    solved = solve_ivp(
        fall,
        (0, 8 * 3600),
        [start_c],
        method="LSODA",
        rtol=1e-6,
        atol=1e-6,
        events=cold_enough,
        dense_output=True,
    )
    times = np.linspace(0, solved.t[-1], 4000)
    return Cooling(room_c, mass_g, start_c, times, solved.sol(times)[0])


def air(film_c: float) -> tuple[float, float, float]:
    """Kinematic viscosity m²/s, conductivity W/(m·K) and Prandtl number of air."""
    return 1.327e-5 + 9.3e-8 * film_c, 0.0243 + 7.4e-5 * film_c, 0.711 - 1.1e-4 * film_c
