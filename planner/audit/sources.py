"""Where the numbers of the rules come from, each said once.

`PRACTICE` is said plainly where nothing better was found.
"""

from __future__ import annotations

PRACTICE = "common practice, no source"

LAYER_TO_NOZZLE = (
    "learndesign.tech, course page on layer height (not above 80 % of the nozzle); "
    "otherwise common practice, no paper found"
)
LINE_TO_NOZZLE = "common practice (1.0 to 1.5 nozzle diameters), no paper found"
BEAD = (
    "continuity, flow = section x speed; section of a laid strand after Comminal, Serdeczny, "
    "Pedersen, Spangenberg, Additive Manufacturing 20 (2018) 68-76"
)
FILAMENT = "the filament's profile"
PRINTER = "the printer's profile"
SKINS = (
    "Homrani et al., Polymers 16 (2024) 2253: solid top and bottom layers count most for "
    "strength, walls next, infill least; the threshold is common practice"
)
BRIDGE = (
    "5 mm without support taken as safe: design notes of printing services; unsupported "
    "horizontal lengths of 0.5-1.5 mm passed in Mazlan, Abdul Kadir, Yusof, Wahab, "
    "J. Adv. Ind. Technol. Appl. (2020) 38-47"
)
LAYERS_IN_TENSION = (
    "PLA bars printed upright held 16 MPa, flat 33, on edge 47: Materiale Plastice, article "
    "11509 (ISO 527-2 bars); shares by angles alone, their thresholds are our own choice"
)
CREEP = (
    "Smit, Engels, Söntjens, Govaert, J. Mater. Sci.: Mater. Med. 21 (2010) 871-878, "
    "doi 10.1007/s10856-009-3921-z"
)
FIRE = (
    "North Dakota State Fire Marshal, M. Ost, 2 June 2025, "
    "https://www.firemarshal.nd.gov/news/unusual-appliances-can-start-home-fires"
)
FUMES = "ANSI/CAN/UL 2904 and ISO 27548:2024, test methods for emissions of desktop printers"
ANCHORS = (
    "BS 8539:2012 (selection and installation of anchors); plastic anchors are for multiple "
    "use, ETAG 020 / EAD 330284"
)
SETTING = (
    "lumped heat balance of a layer (Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, "
    "ch. 5), good to a factor of two; heat capacity and transfer from memory"
)
MESH = "read from the mesh itself"
TOOLPATH = "read from the toolpath itself"
JOB = "read from the job file"
ARITHMETIC_OF_LINES = "arithmetic: number of lines x their width against the mesh"
ARITHMETIC = "arithmetic on the job file"
