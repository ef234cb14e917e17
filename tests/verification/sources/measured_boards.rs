//! Boards read with an error: the curve through the readings, against smoothing splines of scipy.

use overbend::document::{Document, Inputs};
use overbend::rocker;

use super::{Program, stored};
use crate::bench::{Kind, Mark, Row, Source, Stated};

fn number(value: &serde_json::Value) -> f64 {
    value.as_f64().unwrap()
}

fn numbers(value: &serde_json::Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

fn root_mean_square(values: &[f64]) -> f64 {
    (values.iter().map(|v| v * v).sum::<f64>() / values.len() as f64).sqrt()
}

pub(crate) fn source(_: &Program) -> Source {
    let mut rows = Vec::new();
    for case in stored("measured_boards")["cases"].as_array().unwrap() {
        let (places, truth) = (numbers(&case["compared_mm"]), numbers(&case["truth_per_mm"]));
        let stated = case["error_mm"].as_f64().map_or(String::new(), |e| format!("error = {e}\n"));
        let (mut tips, mut bends) = (Vec::new(), Vec::new());
        for readings in case["readings"].as_array().unwrap() {
            let text = format!(
                "title = \"Read board\"\n[board]\nlength = 1400\nwidth = 250\n\
                 [rocker.measured]\n{stated}readings = {readings}\n"
            );
            let wanted = Document::parse("board", &text).unwrap().wanted_with(&Inputs::default()).unwrap();
            let target = rocker::target(&wanted.rocker, &wanted.board).unwrap();
            tips.push(target.tip_height_mm() - number(&case["tip_mm"]));
            let errors = places.iter().zip(&truth).map(|(s, k)| target.curvature.at(*s) - k);
            bends.push(root_mean_square(&errors.collect::<Vec<_>>()));
        }
        let name = format!(
            "{}, read with {} mm{}",
            case["board"].as_str().unwrap(),
            number(&case["read_with_mm"]),
            if stated.is_empty() { " that the document does not state" } else { "" }
        );
        let spline = number(&case["cubic_per_mm"]).min(number(&case["quintic_per_mm"]));
        rows.push(Row {
            quantity: format!("{name}: error of the tip's height, mm"),
            stated: Stated::found(0.0, 1e-6),
            place: "the true board",
            computed: root_mean_square(&tips),
            allowed: 0.5,
            why: "what is wanted of readings with half a millimetre of error",
        });
        rows.push(Row {
            quantity: format!("{name}: curvature less true than the better spline's by, 1/m"),
            stated: Stated::found(0.0, 1e-6),
            place: "measured_boards.json",
            computed: 1e3 * (root_mean_square(&bends) - spline).max(0.0),
            allowed: 1e3 * 0.2 * spline,
            why: "a fifth of the spline's own error, whose weight was chosen knowing the true board",
        });
    }
    Source {
        name: "measured_boards",
        claim: "A curve through readings is as true as the best smoothing spline through them",
        work: "scipy: make_smoothing_spline and UnivariateSpline of degree 5, each at the weight that is best for these very \
               readings, `tests/independent/measured_boards.py`",
        mark: Mark::Own,
        kind: Kind::OtherProgram,
        parameters: "Four boards of 1400 mm read every 50 mm, tip and tail three times, with normal errors; roots of mean \
                     squares over five sets of readings each. The script does the same with as many sets as wanted.",
        count: 16,
        rows,
    }
}
