"""The standard atmosphere from below the sea to 20 km: temperature, pressure, density.

Heights are geopotential; up to 20 km that is within 0.4 % of the geometric height above the sea. Above 20 km
the last layer is carried on. Source: U.S. Standard Atmosphere 1976 and ICAO Doc 7488/3, which agree to this
height; equations quoted from memory and checked against printed rows.
"""

import math

from lubberline.compiled import kernel
from lubberline.units import STANDARD_GRAVITY_MPS2

# ICAO Doc 7488/3: values at sea level, gas constant of dry air, lapse of the troposphere.
SEA_LEVEL_TEMPERATURE_K = 288.15
SEA_LEVEL_PRESSURE_PA = 101325.0
GAS_CONSTANT_J_KG_K = 287.05287
LAPSE_K_M = 0.0065
# Where the lapse ends and the air is as cold further up to 20 km.
TROPOPAUSE_M = 11000.0

SEA_LEVEL_DENSITY_KG_M3 = SEA_LEVEL_PRESSURE_PA / (GAS_CONSTANT_J_KG_K * SEA_LEVEL_TEMPERATURE_K)
_TROPOPAUSE_K = SEA_LEVEL_TEMPERATURE_K - LAPSE_K_M * TROPOPAUSE_M
_POWER = STANDARD_GRAVITY_MPS2 / (GAS_CONSTANT_J_KG_K * LAPSE_K_M)
_TROPOPAUSE_PA: float = SEA_LEVEL_PRESSURE_PA * (_TROPOPAUSE_K / SEA_LEVEL_TEMPERATURE_K) ** _POWER
# Height over which pressure falls by a factor e above the tropopause.
_SCALE_M = GAS_CONSTANT_J_KG_K * _TROPOPAUSE_K / STANDARD_GRAVITY_MPS2


@kernel
def air_temperature_k(altitude_m: float) -> float:
    """Standard temperature at a geopotential altitude."""
    return SEA_LEVEL_TEMPERATURE_K - LAPSE_K_M * min(altitude_m, TROPOPAUSE_M)


@kernel
def air_pressure_pa(altitude_m: float) -> float:
    """Standard pressure at a geopotential altitude."""
    if altitude_m > TROPOPAUSE_M:
        return _TROPOPAUSE_PA * math.exp(-(altitude_m - TROPOPAUSE_M) / _SCALE_M)
    ratio: float = (air_temperature_k(altitude_m) / SEA_LEVEL_TEMPERATURE_K) ** _POWER
    return SEA_LEVEL_PRESSURE_PA * ratio


@kernel
def air_density_kg_m3(altitude_m: float) -> float:
    """Standard density at a geopotential altitude."""
    return air_pressure_pa(altitude_m) / (GAS_CONSTANT_J_KG_K * air_temperature_k(altitude_m))


@kernel
def density_ratio(altitude_m: float) -> float:
    """Standard density as a share of that at sea level (sigma)."""
    return air_density_kg_m3(altitude_m) / SEA_LEVEL_DENSITY_KG_M3
