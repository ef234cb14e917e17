//! Mistakes about measured boards, about what the shop keeps of them, and about tables that are to be corrected.

use super::{Explanation, GEOMETRY, RULE, mistake};

pub(super) const ENTRIES: &[Explanation] = &[
    mistake(
        "board-not-added",
        "The new board does not come to stand behind the others in the shop's file.",
        "The file is read again with the board written at its end.",
        RULE,
        "Look at the last lines of the file; it must end outside of a list or a text.",
    ),
    mistake(
        "no-date",
        "The date of a kept board is none.",
        "The text is read as year-month-day.",
        "ISO 8601",
        "Write year-month-day: \"2026-03-01\".",
    ),
    mistake(
        "table-unsorted",
        "The table of a kept board does not go from end to end.",
        "Stations of the table are looked at in their order.",
        GEOMETRY,
        "List its stations in growing order.",
    ),
    mistake(
        "board-not-of-table",
        "The readings look like no board that can come off this table, whatever the springback.",
        "Boards of all springbacks are held against the readings; the best one still is too far off.",
        "least squares over the pressed and released stack",
        "Check that board, job and table belong together, and how the readings were taken.",
    ),
    mistake(
        "springback-not-seen",
        "The readings do not show how far the board sprang back: a flat table tells nothing.",
        "How much the readings change with the springback, beside their error.",
        "least squares over the pressed and released stack",
        "Read more heights, above all at tip and tail, or measure a board off a table with more curve.",
    ),
    mistake(
        "calibration-not-settled",
        "No springback settles on these readings.",
        "Rounds of Gauss and Newton until the springback stands still.",
        "least squares over the pressed and released stack",
        "Look for readings at wrong stations or in a wrong unit.",
    ),
    mistake(
        "kept-board",
        "A board in the shop's file can no longer be pressed in the model.",
        "Each kept board is pressed and released anew with what its entry says.",
        RULE,
        "Mend its entry, or leave it out with left_out = true.",
    ),
    mistake(
        "no-such-board",
        "The shop keeps no board of this name.",
        "The label is held against those in the shop's file.",
        RULE,
        "Take a label that stands in the shop's file.",
    ),
    mistake(
        "board-kept-already",
        "The shop keeps a board of this name already.",
        "The label is held against those in the shop's file.",
        RULE,
        "Give this one another --label, or say --again for later readings of the same board.",
    ),
    mistake(
        "calibrate-table",
        "The stack cannot be pressed on the table that the board is said to come from.",
        "The stack is pressed on it in the model.",
        GEOMETRY,
        "Check the table's length and heights; the whole blank must lie on it.",
    ),
    mistake(
        "calibrate-deck-down",
        "Boards that lie on their deck cannot be calibrated.",
        "`table.board_lies` is looked at.",
        "a limit of this program",
        "Measure a board that was pressed on its base.",
    ),
    mistake(
        "no-table-to-correct",
        "There is no table that shims could correct.",
        "Heights named with --as-built, [existing_table] and the shop's last board are looked for, in this order.",
        RULE,
        "Name its heights with --as-built, describe it as [existing_table], or calibrate with a first board.",
    ),
    mistake(
        "shims-deck-down",
        "Tables for boards that lie on their deck cannot be corrected.",
        "`table.board_lies` is looked at.",
        "a limit of this program",
        "Cut the ribs anew.",
    ),
];
