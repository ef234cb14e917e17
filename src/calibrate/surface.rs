//! The surface of a table as a shop's file keeps it.

use std::fmt::Write as _;

use sha2::{Digest, Sha256};

use crate::curve::{Curvature, Curve, Piece, PlaneCurve};
use crate::numeric::thinned;

/// How far a kept surface may lie from the real one over the board, mm: the model's tolerance, a fiftieth of what a table
/// is built to.
const KEPT_MM: f64 = 0.01;
/// Step at which the two are compared, mm.
const STEP_MM: f64 = 10.0;
/// Shortest piece of a table that is kept, mm.
const SHORTEST_MM: f64 = 1e-3;
/// How near to a straight line a node is taken to be on it, 1/mm: over a board of 2 m this moves its end by a hundredth of
/// a micrometre for each node left out.
const STRAIGHT_PER_MM: f64 = 1e-12;
/// Coarsest tolerance of the curvature that is tried in thinning, 1/mm, and how often it is halved.
const COARSEST_PER_MM: f64 = 1e-3;
const HALVINGS: usize = 30;
/// Digits of a table's name: two tables of one shop share them once in some billions.
const ID_BYTES: usize = 4;

/// Curvature through nodes (mm, 1/mm), with a jump where two stand at one station; `None` where they are no curve.
pub(crate) fn surface_through(nodes: &[(f64, f64)]) -> Option<Curvature> {
    let piece =
        |w: &[(f64, f64)]| Piece { start_mm: w[0].0, end_mm: w[1].0, k_start_per_mm: w[0].1, k_end_per_mm: w[1].1 };
    Curvature::new(nodes.windows(2).filter(|w| w[1].0 > w[0].0).map(piece).collect()).ok()
}

/// The nodes of a curvature, as [`surface_through`] reads them. Pieces too short to be told apart in the shop's file are
/// left out, and so are nodes that lie on the straight line between their neighbours.
pub(crate) fn surface_nodes(table: &Curvature) -> Vec<(f64, f64)> {
    let mut nodes: Vec<(f64, f64)> = Vec::new();
    let mut add = |node: (f64, f64)| {
        if nodes.last() == Some(&node) {
            return;
        }
        if let [.., a, b] = nodes[..] {
            let straight = a.1 + (node.1 - a.1) * (b.0 - a.0) / (node.0 - a.0);
            if a.0 < b.0 && b.0 < node.0 && (straight - b.1).abs() < STRAIGHT_PER_MM {
                nodes.pop();
            }
        }
        nodes.push(node);
    };
    for p in table.pieces().iter().filter(|p| p.length_mm() > SHORTEST_MM) {
        add((p.start_mm, p.k_start_per_mm));
        add((p.end_mm, p.k_end_per_mm));
    }
    nodes
}

/// Few nodes whose surface stays within a hundredth of a millimetre of the table's, rounded as they are written.
pub(crate) fn thinned_nodes(table: &Curvature) -> Vec<(f64, f64)> {
    let all = surface_nodes(table);
    let mut tolerance = COARSEST_PER_MM;
    for _ in 0..HALVINGS {
        let few: Vec<(f64, f64)> = thinned(&all, tolerance).into_iter().map(rounded).collect();
        if surface_through(&few).is_some_and(|thin| apart_mm(table, &thin) <= KEPT_MM) {
            return few;
        }
        tolerance *= 0.5;
    }
    all
}

/// The name of a surface: the same for the same nodes.
pub fn table_id(nodes: &[(f64, f64)]) -> String {
    let mut hash = Sha256::new();
    for node in nodes {
        let (s_mm, k_per_mm) = rounded(*node);
        // Adding zero turns -0 into 0.
        hash.update((s_mm + 0.0).to_le_bytes());
        hash.update((k_per_mm + 0.0).to_le_bytes());
    }
    hash.finalize().iter().take(ID_BYTES).fold(String::new(), |mut id, byte| {
        // Writing to a String cannot fail.
        let _ = write!(id, "{byte:02x}");
        id
    })
}

/// Stations to a hundredth of a millimetre, curvature to a millionth of 1/m.
fn rounded((s_mm, k_per_mm): (f64, f64)) -> (f64, f64) {
    ((100.0 * s_mm).round() / 100.0, (1e9 * k_per_mm).round() / 1e9)
}

/// Largest distance of two surfaces at the same length along them, both lying with their middle at the origin.
fn apart_mm(a: &Curvature, b: &Curvature) -> f64 {
    let (a, b) = (Curve::new(a.clone()), Curve::new(b.clone()));
    a.samples(STEP_MM).into_iter().map(|w| w.point.distance(b.at(w.s_mm).point)).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stepped() -> Curvature {
        let piece = |start_mm: f64, end_mm: f64, k_start_per_mm: f64, k_end_per_mm: f64| Piece {
            start_mm,
            end_mm,
            k_start_per_mm,
            k_end_per_mm,
        };
        let table = Curvature::new(vec![
            piece(-700.0, -300.0, 0.0, 2e-4),
            piece(-300.0, 100.0, 3e-4, 3e-4),
            piece(100.0, 700.0, 3e-4, 1e-4),
        ]);
        table.unwrap()
    }

    #[test]
    fn nodes_give_the_curvature_back_and_leave_out_what_says_nothing() {
        let fine = stepped().refined(7.0);
        let found = surface_nodes(&fine);
        assert_eq!(found.len(), 5, "{found:?}");
        let back = surface_through(&found).unwrap();
        for s in [-700.0, -512.3, -300.0, -299.9, 0.0, 333.0, 700.0] {
            assert!((back.at(s) - fine.at(s)).abs() < 1e-15, "{s}");
        }
    }

    /// Curvature that follows a sine: 1/mm of 3e-4 to 5e-4 over a wave of 700 mm, in pieces of 2 mm.
    #[test]
    fn a_thinned_surface_has_few_nodes_and_stays_within_a_hundredth() {
        let k = |s: f64| 4e-4 + 1e-4 * (s * std::f64::consts::TAU / 700.0).sin();
        let nodes: Vec<(f64, f64)> = (-350..=350).map(|i| 2.0 * f64::from(i)).map(|s| (s, k(s))).collect();
        let fine = surface_through(&nodes).unwrap();
        let few = thinned_nodes(&fine);
        assert!(few.len() < 120, "{}", few.len());
        let thin = surface_through(&few).unwrap();
        // Twice integrated by hand: the ends differ by the moment of the difference about them.
        let end = |c: &Curvature| {
            (0..7000).map(|i| 0.1 * f64::from(i) + 0.05).map(|s| 0.1 * c.at(s) * (700.0 - s)).sum::<f64>()
        };
        assert!((end(&fine) - end(&thin)).abs() < 0.011, "{} {}", end(&fine), end(&thin));
        assert_eq!(table_id(&few), table_id(&thinned_nodes(&thin)));
        assert_ne!(table_id(&few), table_id(&few[1..]));
    }

    #[test]
    fn jumps_stay_where_they_are() {
        let few = thinned_nodes(&stepped().refined(5.0));
        assert_eq!(few.len(), 5, "{few:?}");
        assert_eq!((few[1], few[2]), ((-300.0, 2e-4), (-300.0, 3e-4)));
    }
}
