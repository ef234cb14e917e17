//! Mistakes about measured boards, about what the shop keeps of them, and about tables that are to be corrected.

use super::{GEOMETRY, RULE, check, mistake};

codes! {
    OF_SHOPS:
    BOARD_NOT_ADDED = mistake(
        "board-not-added",
        "The new board would not be the last one in the shop's file.",
        "The file is read again with the board written at its end.",
        RULE,
        "Look at the last lines of the file.",
    ),
    NO_DATE = mistake(
        "no-date",
        "The date of a kept board is not a date.",
        "The text is read as year-month-day.",
        "ISO 8601",
        "Write year-month-day: \"2026-03-01\".",
    ),
    TABLE_UNSORTED = mistake(
        "table-unsorted",
        "The table of a kept board does not go from end to end.",
        "Stations of the table are looked at in their order.",
        GEOMETRY,
        "List its stations in growing order.",
    ),
    BOARD_NOT_OF_TABLE = mistake(
        "board-not-of-table",
        "No board off this table has these readings, whatever the springback.",
        "Boards with -3 to 6 times the springback of their layers are compared with the readings; none comes near.",
        "least squares over the pressed and released stack",
        "Check that table, stack and readings belong to each other, and the unit of the readings.",
    ),
    BOARD_UNEXPLAINED = check(
        "board-unexplained",
        "No springback makes a board that comes near enough to the readings: a wrong table, a wrong end, a dry spot. Such a \
         board is kept in the shop's file with `left_out = true` and not learned from.",
        "Root of the mean square of readings less the nearest board that the table can give, compared with 1.5 times the errors of \
         readings and table together (0.5 mm for a table as drawn, 0.2 mm for one that was read).",
        "chi-square distribution: fewer than one honest board in a thousand is that far off",
        "Where the readings fit counted from the other end, the check says so. Else check table, stack and readings, and \
         measure with --again; --learn-anyway learns from the board as it is.",
    ),
    BOARD_OF_LAST_TABLE = check(
        "board-of-last-table",
        "The readings are unlikely off a newly designed table, and off the table of the last board of this job they give the \
         factor that board had. Until the question is answered the board is kept, but not learned from.",
        "The factor off each of the two tables, in standard deviations from what the shop knows and from the last board.",
        "normal distribution",
        "Say --same-table where the board was pressed on the last board's table, --new-table where it was built anew.",
    ),
    READING_OFF_BOARD = check(
        "reading-off-board",
        "A reading lies far from the board that comes nearest to all readings.",
        "Reading less that board, compared with five times the median scatter of all readings about it.",
        "median absolute deviation; normal distribution",
        "Read the height again, or take the line out.",
    ),
    HUMP_FOR_HOLLOW = check(
        "hump-for-hollow",
        "The existing table bends the board the other way than the wanted rocker.",
        "Angle from tail to tip of the predicted board compared with that of the wanted one: they have different signs.",
        GEOMETRY,
        "Turn the signs of heights that were read downward from a straightedge, or look at `table.board_lies`.",
    ),
    BOARD_TEXTS = mistake(
        "board-texts",
        "A label or a remark could not be read back from the shop's file.",
        "Its characters are counted.",
        "a limit of this program",
        "Write 1 to 200 characters, or leave it out.",
    ),
    TABLE_MIDDLE = mistake(
        "table-middle",
        "The middle of the board is not on the table that was read.",
        "The station of --middle, or 0, is compared with the first and the last station.",
        GEOMETRY,
        "Give the station at which the middle of the board lies with --middle.",
    ),
    SPRINGBACK_NOT_SEEN = mistake(
        "springback-not-seen",
        "The readings do not show how far the board sprang back: a flat table tells nothing.",
        "How much the readings change with the springback, compared with their error.",
        "least squares over the pressed and released stack",
        "Read more heights, above all at tip and tail, or measure a board off a table with more curve.",
    ),
    CALIBRATION_NOT_SETTLED = mistake(
        "calibration-not-settled",
        "No springback was found for these readings.",
        "Gauss-Newton iterations until the springback no longer changes.",
        "least squares over the pressed and released stack",
        "Look for readings at wrong stations or in a wrong unit.",
    ),
    KEPT_BOARD = mistake(
        "kept-board",
        "A board in the shop's file can no longer be pressed in the model.",
        "Each kept board is pressed and released anew with what its entry says.",
        RULE,
        "Mend its entry, or leave it out with left_out = true.",
    ),
    NO_SUCH_BOARD = mistake(
        "no-such-board",
        "The shop keeps no board of this name.",
        "The label is compared with those in the shop's file.",
        RULE,
        "Take a label that stands in the shop's file.",
    ),
    BOARD_KEPT_ALREADY = mistake(
        "board-kept-already",
        "The shop keeps a board of this name already.",
        "The label is compared with those in the shop's file.",
        RULE,
        "Give this one another --label, or say --again for later readings of the same board.",
    ),
    CALIBRATE_TABLE = mistake(
        "calibrate-table",
        "The stack cannot be pressed on the table that the board is said to come from.",
        "The stack is pressed on it in the model.",
        GEOMETRY,
        "Check the table's length and heights; the whole blank must lie on it.",
    ),
    CALIBRATE_DECK_DOWN = mistake(
        "calibrate-deck-down",
        "Boards that lie on their deck cannot be calibrated.",
        "`table.board_lies` is looked at.",
        "a limit of this program",
        "Measure a board that was pressed on its base.",
    ),
    NO_TABLE_TO_CORRECT = mistake(
        "no-table-to-correct",
        "There is no table that shims could correct.",
        "Heights named with --as-built, [existing_table] and the shop's last board are looked for, in this order.",
        RULE,
        "Add it here: [existing_table] with its `length`, and its surface as a rocker is given. Or give its \
                 measured heights with --as-built, or calibrate with a first board.",
    ),
    SHIMS_DECK_DOWN = mistake(
        "shims-deck-down",
        "Tables for boards that lie on their deck cannot be corrected.",
        "`table.board_lies` is looked at.",
        "a limit of this program",
        "Cut the ribs anew.",
    ),
    ARGUMENT = mistake(
        "argument",
        "A value given on the command line cannot be read.",
        "It is read like a value of the document, in the document's units.",
        RULE,
        "Write a number with a unit that fits.",
    ),
}
