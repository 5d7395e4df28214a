"""Water's density against IAPWS-95 and printed tables; a vessel sized by weighing water."""

import pytest
from iapws import IAPWS95

from benchapp.formulas.fill import water_density, water_volume_ml

# °C, kg/m³ by four published formulas at 101.325 kPa. IAPWS-95: package iapws 1.5.5. CIPM 2001:
# Tanaka et al., Metrologia 38 (2001) 301 (form read, coefficients from memory). Kell 1975, J.
# Chem. Eng. Data 20, 97, and Jones and Harris 1992, air-free: as quoted by Jones and Harris, J.
# Res. NIST 97 (1992) 335 (read second-hand, worked out from the coefficients).
TABLE = [
    (5, 999.967, 999.967, 999.964, 999.965),
    (10, 999.702, 999.703, 999.700, 999.699),
    (15, 999.103, 999.103, 999.100, 999.099),
    (20, 998.207, 998.207, 998.204, 998.203),
    (25, 997.048, 997.047, 997.045, 997.043),
    (30, 995.649, 995.649, 995.647, 995.645),
    (35, 994.033, 994.033, 994.032, 994.029),
    (40, 992.216, 992.215, 992.216, 992.211),
]


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row[0]} °C")
def test_density_is_that_of_the_tables(row):
    temp_c, *published = row
    for figure in published:
        assert water_density(temp_c) == pytest.approx(figure / 1000, abs=1e-5)


def test_kell_to_the_last_digit():
    for temp_c, _, _, kell, _ in TABLE:
        assert water_density(temp_c) == pytest.approx(kell / 1000, abs=0.6e-6)


@pytest.mark.parametrize("temp_c", range(5, 41))
def test_density_is_that_of_iapws_95(temp_c):
    reference = IAPWS95(T=temp_c + 273.15, P=0.101325).rho / 1000
    assert water_density(temp_c) == pytest.approx(reference, abs=1e-5)


# ml of a gram of water, weighed without regard to the air: 1 / density, worked out from IAPWS-95.
@pytest.mark.parametrize(
    ("temp_c", "ml_per_g"),
    [(5, 1.00003), (10, 1.00030), (15, 1.00090), (20, 1.00180), (22, 1.00223), (25, 1.00296),
     (30, 1.00437), (35, 1.00600), (40, 1.00784)],
)  # fmt: skip
def test_a_vessel_weighed_with_water(temp_c, ml_per_g):
    assert water_volume_ml(250, temp_c) == pytest.approx(250 * ml_per_g, abs=250 * 1e-5)


# The same with the lift of the air in it: ISO 8655-6, Z at 1013 hPa (read second-hand, in a
# pipette maker's manual). What the formula leaves out is a tenth of a per cent and cancels when
# wax is weighed in the same air.
@pytest.mark.parametrize(
    ("temp_c", "z"), [(15, 1.0020), (20, 1.0029), (22, 1.0033), (25, 1.0040), (30, 1.0054)]
)
def test_the_air_s_lift_is_the_only_difference(temp_c, z):
    air, brass = 0.0012, 8.0  # g/ml; the conventional values (OIML D 28, from memory)
    density = water_density(temp_c)
    lift = (1 - air / brass) / (1 - air / density)
    assert water_volume_ml(1, temp_c) * lift == pytest.approx(z, abs=6e-5)
