//! Checks.

use super::{PRACTICE, check};

codes! {
    CHECKS:
    LAYER_STRAIN = check(
        "layer-strain",
        "Each layer is bent by itself while the glue is wet; bent too far it cracks on its outer face.",
        "Half of the layer's thickness times its largest curvature on the table, its own curve taken off, for every \
         layer and place; in percent, compared with the strain limit of its material.",
        "the material's strain limit (see `overbend materials NAME`); from 60 % of it on the check says watch: common \
         practice, no source",
        "Split the layer into thinner plies, bend it less, pick clear straight-grained stock, or give the strain that \
         your own test pieces bore as `strain_limit`.",
    ),
    BAG_GAP = check(
        "bag-gap",
        "Somewhere under the finished board the stack does not lie on the table, and glue or skin has to span a gap.",
        "The stack is pressed on the table by its load alone; the gap is the distance that is left between its lower \
         face and the table where they do not touch. Glue fills up to 0.05 mm without harm; from 0.5 mm on it leaves voids.",
        PRACTICE,
        "Press harder, use thinner plies, lengthen the blank, or let the curvature change more slowly there (easings).",
    ),
    GLUE_VOID = check(
        "glue-void",
        "Where the stack lifts, its layers part from each other too: the one on the table lies lower than those above.",
        "Layers as strips of their own under the same pressure, each with its own stiffness; the largest distance \
         between the lowest and the next one inside the finished length; compared with the 0.05 and 0.5 mm of bag-gap.",
        "layers as free strips, own derivation; what glue fills is common practice, no source",
        "Lengthen the blank, press harder, or hold its ends down with a batten under the bag.",
    ),
    BLANK_OVERHANG = check(
        "blank-overhang",
        "A free end carries no moment, so the last piece of the blank lies straighter than the table; it must be longer \
         than what is cut off.",
        "Length from the end over which the pressed blank takes up the table's curvature, compared with the overhang that \
         the document gives.",
        "beam theory: the bending moment of a free end is zero",
        "Give the overhang that the check names, press harder, or clamp battens across the ends.",
    ),
    LEFT_OVER = check(
        "left-over",
        "The board that the model predicts off this table differs from the wanted one.",
        "The designed table is pressed and released in the model; the largest distance between that board and the \
         wanted curve over the finished length. 0.25 mm nobody measures with a straightedge, 1.5 mm everybody does.",
        PRACTICE,
        "Lengthen the blank, press harder, use thinner plies, or ease the ends of the rocker.",
    ),
    PRESSURE_LIMIT = check(
        "pressure-limit",
        "A bag presses with the air around it and no more; high up there is less of it.",
        "The gauge reading, compared with the standard atmosphere at the shop's altitude; over 95 % of it says watch.",
        "ISO 2533 standard atmosphere; what pumps reach in the long run is common practice, no source",
        "Look at gauge and altitude; write `pressure = \"full\"` for all that the air gives.",
    ),
    CURE_TEMPERATURE = check(
        "cure-temperature",
        "Resin cures within a range of temperatures that its maker states.",
        "`cure_temperature` compared with `resin_least` and `resin_most`, as given in the document.",
        "the resin's own sheet, as stated in the job",
        "Warm or cool the table or the room, or use a hardener made for this temperature.",
    ),
    NARROW_LAYER = check(
        "narrow-layer",
        "All is worked out for a strip in which each layer fills the width; a narrower one, such as a core between side \
         strips, adds less stiffness than that, and what fills its place is not known.",
        "The layer's modulus is taken in the ratio of its width to the board's where that is least, as if the rest were air; \
         the part of the curve that is kept there, and with it the height of the higher end, is compared with the stack as \
         it is given. Above 1 mm the check says watch.",
        "own derivation, a bound; what is called the same board is common practice, no source",
        "Fill the width with a material of about the same stiffness, or learn the factor from a board (`overbend calibrate`).",
    ),
    SKIN_STRAIN = check(
        "skin-strain",
        "The table's skin is bent over the ribs and may crack as a layer may.",
        "Half of the thickness of one sheet of the skin times the largest curvature of the table, in percent, compared with the \
         strain limit of `skin_material`.",
        "the material's strain limit; watch from 60 % of it on: common practice, no source",
        "Bend several thinner sheets over each other (`table.skin_sheets`), turn the grain, or use a more flexible sheet.",
    ),
    SKIN_RADIUS = check(
        "skin-radius",
        "A skin of plywood that is not named by its material is compared with the radii to which panels may be bent.",
        "Smallest radius of the table compared with the listed radius of the next thicker panel; between the radius across \
         the face grain and the one along it the check says watch.",
        "APA, minimum bend radii of dry plywood; panels thinner than listed at the same strain (own scaling)",
        "Run the face grain across the board, bend thinner sheets over each other (`table.skin_sheets`), or name the sheet as \
         `table.skin_material`.",
    ),
    SKIN_SAG = check(
        "skin-sag",
        "Between its supports the skin sags under the pressure, and the base of the board shows it.",
        "A strip built in over both supports: w s^4 / (384 E I), with the wet layers bending along, and sheets that are not glued \
         each by itself; no pressure is \
         left to carry on an open table under a bag that is sealed to its skin. 0.1 mm shows and 0.5 mm is felt.",
        "standard beam tables; what shows and what is felt is common practice, no source",
        "Set the ribs or bearers closer, use a thicker skin, or glue its sheets to each other (`table.skin_joined`).",
    ),
    FASTENER_PULL = check(
        "fastener-pull",
        "Where the stack lifts or the skin is bent hollow, the skin is pulled off its supports and only its fasteners hold \
         it.",
        "The skin's upward pull on the table where it is largest, shared by the fasteners at their spacing there; if no \
         pull is given, a fastener holds a fifth of the withdrawal load of a 4 mm screw 20 mm deep.",
        "the pull that the document states for a fastener, or a fifth of the withdrawal load of a thin wood screw (Wood \
         Handbook, from memory)",
        "Set the fasteners closer, use longer or thicker ones, or make the skin of thinner sheets (`table.skin_sheets`).",
    ),
    TABLE_STIFFNESS = check(
        "table-stiffness",
        "The bent stack pushes back, and the ends of the table give.",
        "The stack's bending moments on what feet, slots, holes and windows leave of the ribs, integrated twice from the \
         middle to the finished ends; compared with the limits of left-over.",
        "stepped beam; the limits are common practice, no source",
        "Use more, higher or thicker ribs, lower feet and smaller windows, or close the table to a box.",
    ),
    SOFT_LAYER_SHEAR = check(
        "soft-layer-shear",
        "A soft core lets the skins slide over each other near the ends, where the board is then straighter than the \
         model says.",
        "Length over which the sliding dies away by three times its decay length, compared with the overhang and a fiftieth \
         of the board.",
        "two beams with an elastic joint, Granholm 1949 (from memory)",
        "Use a core with a higher shear modulus, state its `shear_modulus` if you know it, or lengthen the overhang.",
    ),
    BAG_SQUEEZE = check(
        "bag-squeeze",
        "Pressure squeezes a soft core while it is glued, which takes a little of the curvature away; the table allows for it.",
        "Share of the curvature that is lost as the core recovers its thickness: for thin faces, p t/E of the core divided \
         by the distance between the faces.",
        "length difference of the faces, own derivation; half a percent is the limit: common practice, no source",
        "Press with less pressure, or give the core's measured `through_modulus`.",
    ),
    DOUBLE_CURVATURE = check(
        "double-curvature",
        "A board that is bent along and hollow across at once must stretch: a sheet takes only one of the two for free.",
        "Rise across over its mean, times the largest curvature along; for a concave that varies along the board the second \
         integral across of the Gaussian curvature at each place, which the local radii give. Compared with half of the \
         smallest strain limit of the layers, and a tenth for watch. Finite elements of a hollow that fades over three \
         quarters of the width find 0.5 to 21 % less strain along, more of it missing the softer the layers are in shear, and \
         besides a shear of up to nine tenths of that strain, which is not counted here.",
        "geometry of surfaces; tests/independent/fading_concave.py; the shares of the strain limit are common practice, no \
         source",
        "Flatten the concave where the rocker is strongest, or ease the rocker.",
    ),
    ACROSS_STRAIN = check(
        "across-strain",
        "A layer is bent across the board as well, and may split along its grain.",
        "Half of the layer's thickness times the largest curvature across, in percent, compared with the material's strain \
         limit along, as that across is seldom known.",
        "the material's strain limit (see `overbend materials NAME`); watch from 60 % of it on: common practice, no source",
        "Use a flatter concave, or split the layer into thinner ones.",
    ),
    TABLE_NARROW = check(
        "table-narrow",
        "The blank is wider than the table, so its edges and the film under them hang over the sides.",
        "`table.side_margin` compared with the width that is trimmed off each side of the blank.",
        PRACTICE,
        "Give the table a wider `side_margin`; a bag sealed to the table needs room for its tape as well.",
    ),
    CROSS_MODULUS = check(
        "cross-modulus",
        "How far the board springs back across is not known, because a layer's crosswise modulus is not.",
        "Nothing is computed: the share is then taken as that along the board.",
        "share of springback across taken as along; own assumption",
        "Name materials whose crosswise modulus is known, give `cross_modulus`, or press a narrow test piece first.",
    ),
    RIB_JOINT = check(
        "rib-joint",
        "Joints are the weak places of split ribs.",
        "Bending stress of the joint's smallest section, or pressure of its bolts, under one rib's share of the \
         stack's moment; compared with `table.ribs.split.stress`, 9 MPa unless given, from half of it on watched.",
        "beam theory; a quarter of fibreboard's bending strength unless given (Wood Handbook table 12-1, from memory)",
        "Use more or higher ribs, move the joints, or join with plates instead of a key.",
    ),
    BEARER_PROUD = check(
        "bearer-proud",
        "Over a hump the flat bevel of a bearer touches the curve in its middle, and its edges stand above it.",
        "Height of the bevel's edges above the rib line of the table, for the bearer where that is most; a skin shows 0.2 mm.",
        "geometry; the limit is common practice, no source",
        "Round the tops of the bearers to the curve, or use thinner bearers.",
    ),
    BEARER_HEIGHT = check(
        "bearer-height",
        "A bearer is cut and packed in steps, and what they cannot make up is missing from its height or too much.",
        "Cut height and packing of each bearer less the height of the table there, the largest difference; compared with the \
         limits of left-over.",
        PRACTICE,
        "List thinner sheets under `packing`, or cut to a finer `cut_step`.",
    ),
    BOX_LEAKS = check(
        "box-leaks",
        "The box under the skin is pumped together with the bag, and air gets in through an opening.",
        "Counted: missing panels, the gap between feet, windows, hand holes and joints of the outer ribs.",
        "the parts as they are drawn",
        "Close the openings with panels, tape or sealant, or leave them out.",
    ),
    LAP_OPEN = check(
        "lap-open",
        "A round cutter leaves the inner corners of slots full, and square parts do not go down to the floor.",
        "Twice r - sqrt(r² - (r - fit/2)²) for a cutter of radius r, less the fit.",
        super::GEOMETRY,
        "Set `relief` to \"bone\" or \"tee\", or square the corners with a chisel.",
    ),
    CUTTER_REACH = check(
        "cutter-reach",
        "A round cutter leaves material in inner corners and narrow necks.",
        "The outline is shrunk and grown again by half of the cut's width; what is missing afterwards was not reached.",
        super::GEOMETRY,
        "Use a cutter of smaller diameter, ease the corners (`relief`), or take the rest out by hand.",
    ),
    LETTERS_MISSING = check(
        "letters-missing",
        "A name holds characters that the file cannot carry; they are drawn as crossed boxes.",
        "Every text is compared with the letters of the file's font or of our own strokes.",
        "the coding of the standard font Helvetica in PDF, and the strokes drawn here",
        "Write names with the letters A to Z, digits and common signs.",
    ),
    BARS_SHORT = check(
        "bars-short",
        "The bars listed are not enough for all spacers or rods, so there is no cutting plan.",
        "Pieces, cuts and trims are packed onto the listed bars; no way was found that fits.",
        "exhaustive search where it says so, else many ways of cutting",
        "Get more bars or longer ones, and raise `quantity` under [bars].",
    ),
    MACHINE_FITS = check(
        "machine-fits",
        "A part is longer or wider than what the machine takes, and has to be cut in another way.",
        "The longest and the widest of the flat parts' bounding boxes, compared with the bed less the cutter, or less what dowels and margin \
         take of a listed sheet, and with `longest` and `throat`.",
        super::GEOMETRY,
        "Cut it by hand or on another machine, or make the table shorter, lower or narrower; ribs are split by themselves.",
    ),
    SHEETS_SHORT = check(
        "sheets-short",
        "The sheets listed are not enough for all flat parts of a thickness.",
        "Parts are laid out on the sheets of their thickness until all are full; the figure is how many are left.",
        "the quantities listed under [[stock]]; the layout is good, not proven best",
        "Get more sheets and raise `quantity`, or narrow `gap` and `margin` under [nesting].",
    ),
    CURVATURE_BUMPS = check(
        "curvature-bumps",
        "The curvature of the wanted curve goes up and down where the rocker does not ask for it: the board will not be fair.",
        "Peaks and dips of the curvature larger than a fiftieth of its range are counted, compared with those that the parts ask for.",
        "a fiftieth is an own choice; one tightest place near each end is common practice, no source",
        "Look at the curvature with `overbend target`; read doubtful heights again, or take points out.",
    ),
    READING_STANDS_OUT = check(
        "reading-stands-out",
        "One reading lies far from the curve that the others agree on, and is left out.",
        "Its distance from the curve fitted without it, over the scatter of the others (median absolute deviation) or the \
         stated error, whichever is larger.",
        "3.5 times the scatter: common practice, no source",
        "Read it again, or list its number under `exclude`.",
    ),
    HEIGHTS_LOOK_SMALL = check(
        "heights-look-small",
        "The heights differ so little that they were probably read in another unit.",
        "Highest less lowest reading, compared with 0.3 % of the board's length.",
        PRACTICE,
        "If they are inches, say so: `units = \"in\"`, or `height_in` in the heading of the file.",
    ),
    SPRINGBACK_LARGE = check(
        "springback-large",
        "The stack springs back so far that small errors in its figures change the board a lot.",
        "Stiffness of the wet layers over that of the bonded stack, at its largest along the board.",
        PRACTICE,
        "Split the thickest layer into plies that slide while the glue is wet, and look at moduli and thicknesses.",
    ),
    SKINS_OVER_CORE = check(
        "skins-over-core",
        "The skins together are thicker than the core, which is rare; a unit may be wrong.",
        "Thickness of all skins compared with that of the core, in the middle of the board.",
        PRACTICE,
        "Look at the thicknesses and their unit: skins are usually a few tenths of their core.",
    ),
    MODULUS_UNUSUAL = check(
        "modulus-unusual",
        "A modulus that was given or tested lies far from the one listed for its material, or from that of any layer.",
        "Their ratio, compared with the spread between batches of one material; without a material, 15 MPa to 700 GPa.",
        PRACTICE,
        "Check the figure and its unit. For a sag test, check span, thickness and load, or repeat the test.",
    ),
    UNIT_MISTAKEN = check(
        "unit-mistaken",
        "A length or an altitude is of a size that would be usual in another unit, or the board is very narrow for its \
         length: inches, centimetres, feet or kilometres may have been meant.",
        "The value, and the same number in another unit, compared with the sizes that shops use for this key; a board's width \
         over its length.",
        PRACTICE,
        "Write the unit behind the number.",
    ),
    ROCKER_UNUSUAL = check(
        "rocker-unusual",
        "The rocker is unusually high for the length of the board.",
        "Highest less lowest place of the base over its length.",
        PRACTICE,
        "Look at heights, radii and their units (mm, cm or inches).",
    ),
    PRESSURE_UNUSUAL = check(
        "pressure-unusual",
        "The pressure is higher, or that of a bag or a press much lower, than boards are pressed with.",
        "Pressure, and forces over the blank's area, compared with what the means of pressing usually gives: weights one \
         atmosphere, clamps and presses what the densest woods are glued with.",
        "ISO 2533 and Wood Handbook chapter 10 (from memory); the lower bounds are common practice, no source",
        "Look at mass, force or pressure and its unit (kPa, bar, psi, inHg; a gauge shows what is below the air outside); \
         too much pressure crushes a light core.",
    ),
    MATERIAL_UNUSUAL = check(
        "material-unusual",
        "A part that relaxes, a thermal expansion or a density is of a size that no material of this kind has.",
        "The value compared with the range of its kind of material, or compared with the expansion listed for the material.",
        PRACTICE,
        "Look at the power of ten and the unit; `overbend materials NAME` shows usual values.",
    ),
    SKIN_THIN = check(
        "skin-thin",
        "A skin of laminate is thinner than any that is laid; the decimal point may have slipped.",
        "Its thickness compared with that of a light fabric.",
        PRACTICE,
        "Look at the thickness and its unit.",
    ),
    FABRIC_UNUSUAL = check(
        "fabric-unusual",
        "Dry fabric and resin would make a layer of quite another thickness than it is given.",
        "`fabric` over `fibre_fraction` and the material's density, compared with half and twice the layer's thickness.",
        PRACTICE,
        "Give the dry mass of one ply in g/m², and the thickness of one ply.",
    ),
    PLIES_FORGOTTEN = check(
        "plies-forgotten",
        "One piece of wood is so thick compared with the rest of the stack that it alone decides the springback; if it \
         is made of plies, their number is missing.",
        "Its thickness compared with a third of that of all other layers; a layer that gives `plies`, or whose material other \
         layers have too, is believed.",
        PRACTICE,
        "Give `plies`; write plies = 1 for a layer in one piece.",
    ),
    STATIONS_DISAGREE = check(
        "stations-disagree",
        "The stations of a layer seem to be counted from another end than those of the rest.",
        "`stations_from` of the layer compared with that of other layers and the `from` of the rocker; stations counted from the \
         middle that all lie on one side and reach over 60 % of the board.",
        PRACTICE,
        "Write stations_from = \"tail\", \"tip\" or \"middle\" as the stations were measured.",
    ),
    CURE_UNUSUAL = check(
        "cure-unusual",
        "The cure's own temperature was probably given where the difference from the room belongs.",
        "`cure_above_room` compared with 60 K, and the room that it makes with `cure_temperature` compared with 5 to 40 °C.",
        PRACTICE,
        "Give how much warmer than the room the glue cures.",
    ),
    DATUM_MISTAKEN = check(
        "datum-mistaken",
        "Readings that are said to be heights above the floor look as if they were read from a straightedge.",
        "The lowest reading, which is near 0 where a board stands on the floor; and the middle of a board whose ends \
         both touch the floor, over its length.",
        PRACTICE,
        "Write datum = \"straightedge\" if they were, or read them again.",
    ),
    KERF_UNUSUAL = check(
        "kerf-unusual",
        "The kerf is as wide as a router's cutter.",
        "The kerf compared with 4 mm; saws have 3 mm, lasers a tenth of that.",
        PRACTICE,
        "For a router write `table.cutter` and `files.cutter_path`, so that corners are relieved for it too.",
    ),
}
