"""What the scenario says of the oysters."""

from __future__ import annotations

from edgesim.scenario.distributions import Lognormal
from edgesim.scenario.parameters import JUDGEMENT, OURS, READ, Section, parameter

ATLANTIC = (
    "coastal South Carolina monitoring and coastal Georgia spat counts, 1991-94 (O'Beirn et al.)"
)


class Oysters(Section):
    """Eastern oysters on the reef units."""

    salinity: float = parameter(
        "Mean salinity.", "salinity", 25.0, at_least=0.0, at_most=50.0, mark=JUDGEMENT, source=OURS
    )
    summer_temperature: float = parameter(
        "Water in the warmest month.",
        "temperature",
        28.0,
        at_least=-2.0,
        at_most=45.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    winter_temperature: float = parameter(
        "Water in the coldest month.",
        "temperature",
        12.0,
        at_least=-2.0,
        at_most=45.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    recruitment: float = parameter(
        "Young oysters that settle on bare shell in a year of the middle sort.",
        "per area and year",
        spread=(500.0, 4000.0, 7000.0),
        at_least=0.0,
        mark=JUDGEMENT,
        source=ATLANTIC,
    )
    year_spread: float = parameter(
        "Standard deviation of the logarithm of recruitment from year to year.",
        "number",
        spread=(0.3, 0.5, 1.0),
        at_least=0.0,
        at_most=5.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    site_spread: float = parameter(
        "Standard deviation of the logarithm of recruitment from site to site of like exposure to waves.",
        "number",
        spread=(0.3, 0.6, 1.0),
        at_least=0.0,
        at_most=5.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    wave_factor: float = parameter(
        "Settlement in waves relative to settlement in calm water.",
        "fraction",
        spread=(0.1, 0.5, 1.0),
        at_least=0.0,
        at_most=1.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    wood_factor: float = parameter(
        "Settlement on the wood of the walls relative to loose shell; it goes when the wood goes.",
        "fraction",
        spread=(0.05, 0.3, 1.0),
        at_least=0.0,
        at_most=1.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    disease_mortality: float = parameter(
        "Deaths of adults per year by disease; none unless you know of an outbreak.",
        "per year",
        0.0,
        at_least=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    loose_embedment: float = parameter(
        "How deep loose shell lies in the mud.",
        "size",
        spread=(0.02, 0.10, 0.20),
        at_least=0.0,
        at_most=1.0,
        example='"4 in"',
        mark=JUDGEMENT,
        source="1 to 4 cm near boat channels, more than 20 cm away from them (Campbell et al., abstract)",
    )
    loose_share: float = parameter(
        "Share of loose shell that a wake of twice the height that just moves it carries off.",
        "fraction",
        spread=Lognormal(1e-4, 10.0),
        at_least=0.0,
        at_most=1.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    asymptotic_height: float = parameter(
        "Shell height of very old oysters.",
        "size",
        spread=(0.070, 0.090, 0.130),
        above=0.0,
        at_most=0.5,
        example='"90 mm"',
        mark=JUDGEMENT,
        source=OURS,
    )
    growth_coefficient: float = parameter(
        "Rate at which shell height nears that size, of oysters between the tides, dry for three tenths of the time.",
        "per year",
        spread=(0.35, 0.6, 1.0),
        above=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    adult_mortality: float = parameter(
        "Deaths of adults per year and oyster.",
        "per year",
        spread=(0.2, 0.5, 1.0),
        at_least=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    capacity: float = parameter(
        "Most oysters that live on an area of reef.",
        "per area",
        spread=(1500.0, 3000.0, 6000.0),
        above=0.0,
        mark=JUDGEMENT,
        source="spans the mean of 2350 /m2 of South Carolina reefs (Hadley et al.)",
    )
    exposure_low: float = parameter(
        "Share of the time out of water below which predators keep reefs down.",
        "fraction",
        spread=(0.05, 0.10, 0.15),
        at_least=0.0,
        at_most=1.0,
        mark=READ,
        source="zero growth at 10 % (Ridge et al., 2015)",
    )
    exposure_high: float = parameter(
        "Share of the time out of water above which reefs do not grow.",
        "fraction",
        spread=(0.50, 0.55, 0.60),
        at_least=0.0,
        at_most=1.0,
        mark=READ,
        source="zero growth at 55 % (Ridge et al., 2015)",
    )
    exposure_stop: float = parameter(
        "Share of the time out of water at which an oyster stops growing.",
        "fraction",
        spread=(0.6, 0.75, 0.9),
        above=0.0,
        at_most=1.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    reef_growth: float = parameter(
        "Most that a reef crest rises.",
        "slow rate",
        spread=(0.01, 0.03, 0.11),
        at_least=0.0,
        at_most=0.5,
        example='"3 cm/yr"',
        mark=JUDGEMENT,
        source="Rodriguez et al., 2014, and Ridge et al., 2015 (secondary reports)",
    )
    shell_half_life: float = parameter(
        "Time in which half of the dead shell is lost.",
        "years",
        spread=(2.0, 5.0, 10.0),
        above=0.0,
        mark=JUDGEMENT,
        source="shell half-lives after Powell et al.",
    )
    consolidation_density: float = parameter(
        "Density of live oysters at which units are half cemented together.",
        "per area",
        spread=(200.0, 500.0, 1500.0),
        above=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    heat_mortality: float = parameter(
        "Deaths per year by heat for oysters that are always out of water in summer.",
        "per year",
        spread=(1.0, 3.0, 8.0),
        at_least=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    low_predation: float = parameter(
        "Deaths per year by predators for oysters that are always under water.",
        "per year",
        spread=(0.5, 1.5, 3.0),
        at_least=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
