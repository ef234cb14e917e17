//! Edges in the brightness that a photograph has along short lines across a traced curve.

/// How far from the traced curve an edge is looked for, pixels. The board's other edge must lie beyond.
pub(super) const REACH_PX: usize = 14;
/// Standard deviation of a click that the search expects, pixels: edges further off have less weight.
const CLICK_PX: f64 = 5.0;
/// The least contrast of an edge, grey levels of 255 over two pixels: several times the noise of a photograph in daylight
/// (from experience, no source).
const LEAST_CONTRAST: f64 = 8.0;
/// Least contrast of one edge beside the middle one's.
const LEAST_SHARE: f64 = 0.4;
/// Share of the lines that must have an edge; below that, none is used.
const ENOUGH: f64 = 0.6;

/// The offset of the edge on each line, pixels from its middle; `None` where a line has none. All have the same side bright.
/// `None` altogether where too few lines have one.
pub(super) fn edges(lines: &[Vec<f64>]) -> Option<Vec<Option<f64>>> {
    let found = [1.0, -1.0].map(|sign| lines.iter().map(|l| strongest(l, sign)).collect::<Vec<_>>());
    let strength = |all: &[Option<Edge>]| all.iter().flatten().map(|e| e.weighted).sum::<f64>();
    let [up, down] = found;
    let chosen = if strength(&up) >= strength(&down) { up } else { down };
    let mut contrasts: Vec<f64> = chosen.iter().flatten().map(|e| e.contrast).collect();
    contrasts.sort_by(f64::total_cmp);
    let least = LEAST_CONTRAST.max(LEAST_SHARE * contrasts.get(contrasts.len() / 2)?);
    let offsets: Vec<_> = chosen.iter().map(|e| e.filter(|e| e.contrast >= least).map(|e| e.offset_px)).collect();
    (offsets.iter().flatten().count() as f64 >= ENOUGH * lines.len() as f64).then_some(offsets)
}

#[derive(Debug, Clone, Copy)]
struct Edge {
    offset_px: f64,
    contrast: f64,
    weighted: f64,
}

/// The strongest rise (`sign` 1) or fall (-1) of brightness on a line, by the vertex of the parabola through its peak.
fn strongest(line: &[f64], sign: f64) -> Option<Edge> {
    let slope: Vec<f64> = line.windows(3).map(|w| sign * (w[2] - w[0])).collect();
    let smooth: Vec<f64> = slope.windows(3).map(|w| 0.25 * (w[0] + 2.0 * w[1] + w[2])).collect();
    let middle = 0.5 * (smooth.len() as f64 - 1.0);
    let peaks =
        (1..smooth.len().saturating_sub(1)).filter(|&i| smooth[i] > smooth[i - 1] && smooth[i] >= smooth[i + 1]);
    let edge = |i: usize| {
        let (before, at, behind) = (smooth[i - 1], smooth[i], smooth[i + 1]);
        let bend = before - 2.0 * at + behind;
        let offset_px = i as f64 - middle + if bend < 0.0 { 0.5 * (before - behind) / bend } else { 0.0 };
        Edge { offset_px, contrast: at, weighted: at * libm::exp(-0.5 * (offset_px / CLICK_PX).powi(2)) }
    };
    peaks.map(edge).max_by(|a, b| a.weighted.total_cmp(&b.weighted))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A line whose brightness goes from one level to another at `at`, over about two pixels.
    fn step(at: f64, from: f64, to: f64) -> Vec<f64> {
        let reach = REACH_PX as i32;
        (-reach..=reach).map(|i| from + (to - from) * (0.5 + 0.5 * (f64::from(i) - at).clamp(-1.0, 1.0))).collect()
    }

    #[test]
    fn an_edge_is_found_to_a_part_of_a_pixel() {
        for at in [-3.4, 0.0, 2.25, 6.7] {
            let lines: Vec<_> = (0..10).map(|_| step(at, 60.0, 180.0)).collect();
            for offset in edges(&lines).unwrap() {
                assert!((offset.unwrap() - at).abs() < 0.2, "{at} {offset:?}");
            }
        }
    }

    #[test]
    fn without_contrast_there_is_no_edge() {
        let flat = vec![vec![120.0; 2 * REACH_PX + 1]; 10];
        assert_eq!(edges(&flat), None);
        assert_eq!(edges(&[]), None);
        let faint: Vec<_> = (0..10).map(|_| step(0.0, 100.0, 103.0)).collect();
        assert_eq!(edges(&faint), None);
    }

    #[test]
    fn a_line_that_is_hidden_is_left_out() {
        let mut lines: Vec<_> = (0..10).map(|_| step(1.0, 200.0, 40.0)).collect();
        lines[4] = vec![90.0; 2 * REACH_PX + 1];
        let found = edges(&lines).unwrap();
        assert_eq!(found[4], None);
        assert_eq!(found.iter().flatten().count(), 9);
    }
}
