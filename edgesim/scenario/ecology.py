"""What the water, the mud, the marsh and the oysters are like."""

from __future__ import annotations

from edgesim.scenario.distributions import Lognormal
from edgesim.scenario.parameters import JUDGEMENT, MEMORY, READ, Section, parameter

OURS = "edgesim"
ATLANTIC = (
    "coastal South Carolina monitoring and coastal Georgia spat counts, 1991-94 (O'Beirn et al.)"
)


class Mud(Section):
    """Suspended mud and the flat in front of the edge."""

    concentration: float = parameter(
        "Mud in the water, mean of the year, from bottle samples.",
        "concentration",
        spread=(0.010, 0.035, 0.090),
        at_least=0.0,
        at_most=20.0,
        mark=JUDGEMENT,
        source="spans the 6.5 to 85 mg/l of a South Carolina creek (Wolaver et al., 1988)",
    )
    winter_factor: float = parameter(
        "Concentration in mid-winter relative to the mean.",
        "number",
        0.3,
        at_least=0.0,
        mark=JUDGEMENT,
        source="after Wolaver et al., 1988",
    )
    summer_factor: float = parameter(
        "Concentration in mid-summer relative to the mean.",
        "number",
        1.7,
        at_least=0.0,
        mark=JUDGEMENT,
        source="after Wolaver et al., 1988",
    )
    settling_velocity: float = parameter(
        "Fall speed of mud flocs.",
        "fall speed",
        spread=(0.1e-3, 0.5e-3, 2e-3),
        above=0.0,
        at_most=0.1,
        example='"0.5 mm/s"',
        mark=MEMORY,
        source="general mud literature",
    )
    trapping_efficiency: float = parameter(
        "Share of the mud brought by a tide that stays in calm water.",
        "fraction",
        spread=(0.1, 0.3, 0.8),
        at_least=0.0,
        at_most=1.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    critical_stress: float = parameter(
        "Stress at which a firm mud flat begins to erode.",
        "stress",
        spread=(0.2, 0.4, 1.0),
        above=0.0,
        mark=MEMORY,
        source="general mud literature",
    )
    strength: float = parameter(
        "Undrained shear strength of the bed, mean over the length of a post in it.",
        "stress",
        spread=(3000.0, 8000.0, 20000.0),
        above=0.0,
        example='"8 kPa"',
        mark=JUDGEMENT,
        source=OURS,
    )
    flat_density: float = parameter(
        "Dry mass of mud in a volume of the flat.",
        "density",
        spread=(400.0, 600.0, 900.0),
        above=0.0,
        at_most=2650.0,
        example='"600 kg/m^3"',
        mark=MEMORY,
        source="general mud literature",
    )
    scarp_share_kept: float = parameter(
        "Share of the mud eroded from the scarp that settles in front of it.",
        "fraction",
        spread=(0.05, 0.2, 0.5),
        at_least=0.0,
        at_most=1.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    current_share: float = parameter(
        "Share of the natural stirring of the flat that is done by tidal currents rather than waves.",
        "fraction",
        spread=(0.1, 0.3, 0.6),
        at_least=0.0,
        at_most=1.0,
        mark=JUDGEMENT,
        source=OURS,
    )


class Marsh(Section):
    """The rooted edge, the platform and the plants."""

    erodibility: float = parameter(
        "Volume eroded per metre of edge, year and W/m of wave power; used only when no retreat rate is given.",
        "erodibility",
        spread=(0.005, 0.05, 0.2),
        above=0.0,
        mark=JUDGEMENT,
        source="linear law after Marani et al., 2011",
    )
    strength_variation: float = parameter(
        "Coefficient of variation of the soil's strength along the edge.",
        "fraction",
        spread=(0.1, 0.3, 0.6),
        at_least=0.0,
        at_most=3.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    strength_length: float = parameter(
        "Distance over which the strength stays alike.",
        "length",
        spread=(1.0, 2.0, 5.0),
        above=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    soil_density: float = parameter(
        "Dry mass in a volume of marsh soil.",
        "density",
        spread=(200.0, 400.0, 700.0),
        above=0.0,
        at_most=2650.0,
        example='"400 kg/m^3"',
        mark=MEMORY,
        source="range; compare the mixing rule of Morris et al., 2016",
    )
    level_decay: float = parameter(
        "How fast the wave attack on the scarp fades when the platform is flooded, in wave heights.",
        "number",
        spread=(0.5, 1.0, 2.0),
        above=0.0,
        mark=JUDGEMENT,
        source="form after Tonelli, Fagherazzi and Petti, 2010",
    )
    side_exposure: float = parameter(
        "Wave attack on the side of a notch relative to its face.",
        "fraction",
        spread=(0.1, 0.25, 0.5),
        at_least=0.0,
        at_most=1.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    accretion_cap: float = parameter(
        "Most that the platform can rise.",
        "slow rate",
        spread=(0.003, 0.005, 0.006),
        at_least=0.0,
        at_most=0.1,
        example='"5 mm/yr"',
        mark=READ,
        source="about 0.5 cm/yr in all for a typical sediment load (Morris et al., 2016)",
    )
    clonal_spread: float = parameter(
        "How fast grass spreads sideways over bare mud.",
        "rate",
        spread=(0.2, 0.8, 3.0),
        at_least=0.0,
        mark=JUDGEMENT,
        source="between the 0.79 m/yr of Feist and Simenstad, 2000, and faster fronts",
    )
    band_low: float = parameter(
        "Least share of the time under water at which grass grows.",
        "fraction",
        0.10,
        at_least=0.0,
        at_most=1.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    band_high: float = parameter(
        "Largest share of the time under water at which grass grows.",
        "fraction",
        0.55,
        at_least=0.0,
        at_most=1.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    seedling_stress: float = parameter(
        "Bed stress that young shoots stand.",
        "stress",
        spread=(0.05, 0.15, 0.3),
        above=0.0,
        mark=JUDGEMENT,
        source="windows of opportunity after Balke et al., 2011",
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
