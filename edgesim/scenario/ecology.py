"""What the scenario says of the mud and the marsh."""

from __future__ import annotations

from edgesim.scenario.parameters import JUDGEMENT, MEMORY, OURS, READ, Section, parameter


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
    settling_stress: float = parameter(
        "Stress of the waves from which no mud stays on the bed; below it the share that stays falls evenly.",
        "stress",
        spread=(0.05, 0.08, 0.15),
        above=0.0,
        mark=MEMORY,
        source="critical stress of deposition, after Krone, 1962",
    )
    fresh_density: float = parameter(
        "Dry mass in a volume of mud that has just settled.",
        "density",
        spread=(100.0, 200.0, 350.0),
        above=0.0,
        at_most=2650.0,
        example='"200 kg/m^3"',
        mark=MEMORY,
        source="general mud literature",
    )
    consolidation_time: float = parameter(
        "Time in which fresh mud does two thirds of its packing.",
        "years",
        spread=(0.3, 0.75, 2.0),
        above=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    wash_time: float = parameter(
        "Time in which undefended waves wash loose mud away again.",
        "years",
        spread=(0.3, 1.0, 3.0),
        above=0.0,
        mark=JUDGEMENT,
        source="an undefended wet-season layer was gone in one to two months (Van Cuong et al., 2015)",
    )
    mixing: float = parameter(
        "Horizontal mixing of the water over a few metres of flat.",
        "mixing",
        spread=(0.002, 0.005, 0.02),
        above=0.0,
        at_most=10.0,
        mark=MEMORY,
        source="about 0.003 m2/s over 10 m by the diffusion diagram of Okubo, 1971, more with waves",
    )
    line_exchange: float = parameter(
        "Exchange of water and mud through the fill of a wall or a reef, relative to open water.",
        "fraction",
        spread=(0.1, 0.3, 0.6),
        at_least=0.0,
        at_most=1.0,
        mark=JUDGEMENT,
        source=OURS,
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
    scarp_share_suspended: float = parameter(
        "Share of the soil eroded from the scarp that goes into the water over the flat as mud; roots, sand and "
        "lumps are carried off.",
        "fraction",
        spread=(0.2, 0.5, 0.8),
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
    tensile_strength: float = parameter(
        "Tensile strength of the rooted soil, which holds overhanging blocks; 0 lets the edge crumble evenly.",
        "stress",
        spread=(1e3, 3e3, 10e3),
        at_least=0.0,
        example='"3 kPa"',
        mark=MEMORY,
        source="rooted marsh soil, not verified",
    )
    wet_density: float = parameter(
        "Mass in a volume of wet marsh soil.",
        "density",
        spread=(1220.0, 1430.0, 1730.0),
        above=1025.0,
        at_most=2650.0,
        example='"1430 kg/m^3"',
        mark=MEMORY,
        source="12 to 17 kN/m3, general soil mechanics",
    )
    root_depth: float = parameter(
        "Thickness of the mat of roots.",
        "length",
        spread=(0.2, 0.35, 0.6),
        above=0.0,
        mark=JUDGEMENT,
        source=OURS,
    )
    crack_distance: float = parameter(
        "How far behind the edge cracks open that cut off blocks.",
        "length",
        spread=(0.2, 0.5, 1.0),
        at_least=0.0,
        mark=JUDGEMENT,
        source="after the blocks of Bendoni et al., 2014",
    )
    slump_share: float = parameter(
        "Share of the waves' work at the edge that goes into breaking up fallen blocks.",
        "fraction",
        spread=(0.05, 0.3, 0.6),
        at_least=0.0,
        below=1.0,
        mark=JUDGEMENT,
        source="fallen blocks shelter the toe for a quarter of a year or so (after Gabet, 1998, from memory)",
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
    organic_share: float = parameter(
        "Share of the platform's rise that roots make and no mud is needed for.",
        "fraction",
        0.6,
        at_least=0.0,
        at_most=1.0,
        mark=READ,
        source="0.3 cm/yr of 0.5 cm/yr (Morris et al., 2016)",
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
    stress_growth: float = parameter(
        "How much more bed stress a seedling stands with every day.",
        "stress per day",
        spread=(0.005, 0.01, 0.02),
        at_least=0.0,
        mark=JUDGEMENT,
        source="windows of opportunity after Hu et al., 2015",
    )
    dry_days: float = parameter(
        "Days in a row without flooding that a seed needs to anchor.",
        "days",
        spread=(1.0, 2.5, 5.0),
        at_least=0.0,
        mark=JUDGEMENT,
        source="windows of opportunity after Balke et al., 2011",
    )
    rooting_days: float = parameter(
        "Days that a seedling needs to take root, and shoots must stand before the marsh spreads.",
        "days",
        spread=(10.0, 20.0, 40.0),
        at_least=0.0,
        mark=JUDGEMENT,
        source="windows of opportunity after Balke et al., 2011",
    )
    bed_change: float = parameter(
        "Rise or fall of the bed that a seedling outlives while it takes root, and shoots within a fortnight.",
        "length",
        spread=(0.01, 0.02, 0.04),
        above=0.0,
        mark=JUDGEMENT,
        source="windows of opportunity after Balke et al., 2011",
    )
    stem_diameter: float = parameter(
        "Diameter of a stem of grass.",
        "size",
        0.006,
        above=0.0,
        at_most=0.1,
        mark=MEMORY,
        source="smooth cordgrass",
    )
    stems_per_m2: float = parameter(
        "Stems on a square metre of closed grass.",
        "number",
        spread=(100.0, 250.0, 400.0),
        at_least=0.0,
        mark=MEMORY,
        source="smooth cordgrass",
    )
    stem_height: float = parameter(
        "Height of the grass.",
        "length",
        spread=(0.3, 0.6, 1.0),
        at_least=0.0,
        mark=MEMORY,
        source="smooth cordgrass",
    )
    stem_drag: float = parameter(
        "Drag coefficient of a stem in waves.",
        "number",
        spread=(0.5, 1.0, 2.0),
        at_least=0.0,
        mark=JUDGEMENT,
        source="fits to Keulegan-Carpenter and Reynolds numbers spread as widely (processes/plants.py)",
    )
