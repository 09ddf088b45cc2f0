"""The standard atmosphere against printed tables."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lubberline.earth.atmosphere import (
    air_density_kg_m3,
    air_pressure_pa,
    air_temperature_k,
    density_ratio,
    pressure_altitude_m,
)
from lubberline.units import FT_M, INHG_PA

# US Standard Atmosphere 1976 and ICAO 1993 (the open package ambiance 1.3.1), by geopotential height:
# ft, temperature C, pressure hPa and inHg, density kg/m3, density ratio.
ROWS = [
    (-1000.0, 16.981, 1050.406, 31.0185, 1.26125, 1.02959),
    (0.0, 15.000, 1013.250, 29.9213, 1.22500, 1.00000),
    (1000.0, 13.019, 977.166, 28.8557, 1.18955, 0.97106),
    (2000.0, 11.038, 942.129, 27.8211, 1.15490, 0.94277),
    (5000.0, 5.094, 843.073, 24.8959, 1.05555, 0.86167),
    (8000.0, -0.850, 752.624, 22.2250, 0.96287, 0.78602),
    (10000.0, -4.812, 696.816, 20.5770, 0.90464, 0.73848),
    (18000.0, -20.662, 505.998, 14.9421, 0.69815, 0.56991),
    (20000.0, -24.624, 465.632, 13.7501, 0.65269, 0.53281),
    (30000.0, -44.436, 300.896, 8.8854, 0.45831, 0.37413),
    (36089.24, -56.500, 226.320, 6.6832, 0.36392, 0.29708),
]

# US Standard Atmosphere 1976, the isothermal layer: geopotential m, temperature K, pressure Pa, density
# kg/m3; from memory, to the digits given.
STRATOSPHERE_ROWS = [(15_000.0, 216.65, 12_044.5, 0.19367), (20_000.0, 216.65, 5_474.88, 0.088035)]

# 14 CFR 43 Appendix E, table I: ft, inHg; the rows in the stratosphere.
APPENDIX_E_ROWS = [(40000.0, 5.538), (45000.0, 4.355), (50000.0, 3.425)]

# 14 CFR 43 Appendix E, table IV: scale setting inHg, altitude difference ft, printed to 1 ft.
SCALE_ROWS = [
    (28.10, -1727.0),
    (28.50, -1340.0),
    (29.00, -863.0),
    (29.50, -392.0),
    (30.50, 531.0),
    (30.90, 893.0),
    (30.99, 974.0),
]


def half(digits):
    """Half a unit of the last printed digit, and a hair for the rounding of binary numbers."""
    return 0.5001 * 10.0**-digits


@pytest.mark.parametrize(("altitude_m", "temperature_k", "pressure_pa", "density"), STRATOSPHERE_ROWS)
def test_the_air_is_no_colder_above_the_tropopause(altitude_m, temperature_k, pressure_pa, density):
    assert air_temperature_k(altitude_m) == pytest.approx(temperature_k, abs=half(2))
    assert air_pressure_pa(altitude_m) == pytest.approx(pressure_pa, rel=2e-5)
    assert air_density_kg_m3(altitude_m) == pytest.approx(density, rel=3e-5)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row[0]:.0f} ft")
def test_rows_of_the_standard_atmosphere(row):
    altitude_ft, temperature_c, pressure_hpa, pressure_inhg, density, ratio = row
    altitude_m = altitude_ft * FT_M
    assert air_temperature_k(altitude_m) - 273.15 == pytest.approx(temperature_c, abs=half(3))
    assert air_pressure_pa(altitude_m) / 100.0 == pytest.approx(pressure_hpa, abs=half(3))
    assert air_pressure_pa(altitude_m) / INHG_PA == pytest.approx(pressure_inhg, abs=half(4))
    assert air_density_kg_m3(altitude_m) == pytest.approx(density, abs=half(5))
    assert density_ratio(altitude_m) == pytest.approx(ratio, abs=half(5))


@pytest.mark.parametrize(("altitude_ft", "pressure_inhg"), APPENDIX_E_ROWS)
def test_stratosphere_rows_of_the_altimeter_test(altitude_ft, pressure_inhg):
    assert air_pressure_pa(altitude_ft * FT_M) / INHG_PA == pytest.approx(pressure_inhg, abs=0.001)


@pytest.mark.parametrize(("setting_inhg", "altitude_ft"), SCALE_ROWS)
def test_scale_rows_of_the_altimeter_test(setting_inhg, altitude_ft):
    """The scale moves the altimeter by the pressure altitude of the setting, the other way."""
    assert -pressure_altitude_m(setting_inhg * INHG_PA) / FT_M == pytest.approx(altitude_ft, abs=1.0)


@given(st.floats(-2000.0, 20000.0))
def test_pressure_altitude_undoes_pressure(altitude_m):
    assert pressure_altitude_m(air_pressure_pa(altitude_m)) == pytest.approx(altitude_m, abs=1e-6)


@given(st.floats(-2000.0, 19999.0))
def test_pressure_and_density_fall_with_height(altitude_m):
    assert air_pressure_pa(altitude_m + 1.0) < air_pressure_pa(altitude_m)
    assert air_density_kg_m3(altitude_m + 1.0) < air_density_kg_m3(altitude_m)
