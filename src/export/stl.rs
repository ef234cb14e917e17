//! Meshes as binary STL: triangles of 32-bit numbers, in millimetres.

use crate::drawing::Mesh;

/// Bytes before the number of triangles.
const HEAD: usize = 80;

/// A closed mesh as bytes. `origin` (program version and job hash) stands in the head, as far as it has room there.
pub(crate) fn write_stl(mesh: &Mesh, origin: &str) -> Vec<u8> {
    // A head that begins with the word `solid` is taken for the other, written form of STL.
    let head = format!("mm, {origin}");
    let mut out: Vec<u8> = head.bytes().filter(u8::is_ascii).chain(std::iter::repeat(b' ')).take(HEAD).collect();
    let triangles: Vec<[[f32; 3]; 3]> = mesh.triangles.iter().map(|t| t.map(|i| single(mesh.points[i]))).collect();
    out.extend(u32::try_from(triangles.len()).unwrap_or(u32::MAX).to_le_bytes());
    for corners in &triangles {
        for number in std::iter::once(normal(corners)).chain(corners.iter().copied()).flatten() {
            out.extend(number.to_le_bytes());
        }
        out.extend([0, 0]);
    }
    out
}

#[allow(clippy::cast_possible_truncation, reason = "the format holds 32-bit numbers: 20 m to a thousandth")]
fn single(p: [f64; 3]) -> [f32; 3] {
    p.map(|v| v as f32)
}

/// Unit vector to the outside; none of a triangle that has no area once it is rounded.
fn normal([a, b, c]: &[[f32; 3]; 3]) -> [f32; 3] {
    let minus = |p: &[f32; 3], q: &[f32; 3]| [0, 1, 2].map(|i| f64::from(p[i]) - f64::from(q[i]));
    let ([ux, uy, uz], [vx, vy, vz]) = (minus(b, a), minus(c, a));
    let n = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
    let long = n.iter().map(|v| v * v).sum::<f64>().sqrt();
    single(if long > 0.0 { n.map(|v| v / long) } else { [0.0; 3] })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_box_is_written_with_its_count_and_normals_that_point_out() {
        let row = |x: f64| vec![[x, -5.0, 30.0], [x, 5.0, 30.0]];
        let bytes = write_stl(&Mesh::under(&[row(0.0), row(20.0)]), "overbend job");
        assert_eq!(bytes.len(), 84 + 12 * 50);
        assert!(bytes.starts_with(b"mm, overbend job  ") && bytes[80..84] == 12_u32.to_le_bytes());
        let number = |at: usize| f32::from_le_bytes(bytes[at..at + 4].try_into().unwrap());
        for triangle in 0..12 {
            let at = 84 + 50 * triangle;
            let [n, a, b, c] = [0, 1, 2, 3].map(|k| [0, 1, 2].map(|i| number(at + 12 * k + 4 * i)));
            let middle = [0, 1, 2].map(|i| (a[i] + b[i] + c[i]) / 3.0 - [10.0, 0.0, 15.0][i]);
            let out: f32 = (0..3).map(|i| n[i] * middle[i]).sum();
            assert!(out > 4.0, "{n:?} at {middle:?}");
        }
    }
}
