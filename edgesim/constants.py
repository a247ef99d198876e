"""Physical constants and calendar conventions, each with unit and source."""

GRAVITY = 9.81
"""Standard acceleration of free fall, rounded as coastal manuals do. [m s-2]"""

WATER_DENSITY = 1025.0
"""Density of sea water at about 20 C and 35 g/kg, the coastal-engineering convention. [kg m-3]"""

WATER_VISCOSITY = 1.05e-6
"""Kinematic viscosity of sea water near 20 C (from memory; docs/sources.md, row water-1). [m2 s-1]"""

SECONDS_PER_DAY = 86400.0
"""Length of a day. [s]"""

DAYS_PER_YEAR = 365.25
"""Length of the Julian year, the only year used in edgesim. [d]"""

SECONDS_PER_YEAR = SECONDS_PER_DAY * DAYS_PER_YEAR
"""Length of the Julian year. [s]"""

TIDES_PER_YEAR = 705.8
"""Semidiurnal (M2) tides in a Julian year: 365.25 d * 24 h / 12.4206 h. [1]"""

GOLDEN_RATIO = 0.5 * (5.0**0.5 - 1.0)
"""The smaller golden ratio: the fractional parts of its multiples fall evenly over the unit interval. [1]"""
