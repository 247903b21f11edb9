//! STL, binary: 80 bytes of header, the number of triangles, and of each its normal, its three corners
//! (single precision, little-endian) and two bytes of nothing.
//!
//! Layout after 3D Systems' "StereoLithography Interface Specification" (1989), from memory.

use super::solid::Solid;

/// Does not begin with "solid", by which the textual kind is known.
const HEADER: &[u8] = b"withy: a part in millimetres";

/// The solid as the bytes of an STL file, in millimetres.
#[must_use]
pub fn stl(solid: &Solid) -> Vec<u8> {
    #[expect(clippy::cast_possible_truncation, reason = "the format is in single precision")]
    let single = |v: f64| (v as f32).to_le_bytes();
    let mut bytes = HEADER.to_vec();
    bytes.resize(80, 0);
    let count = u32::try_from(solid.triangles.len()).unwrap_or(u32::MAX);
    bytes.extend(count.to_le_bytes());
    for triangle in &solid.triangles {
        let [a, b, c] = triangle.map(|corner| solid.corners[corner]);
        for v in normal(a, b, c).into_iter().chain(a).chain(b).chain(c) {
            bytes.extend(single(v));
        }
        bytes.extend([0, 0]);
    }
    bytes
}

fn normal(a: [f64; 3], b: [f64; 3], c: [f64; 3]) -> [f64; 3] {
    let (u, v) = ([0, 1, 2].map(|i| b[i] - a[i]), [0, 1, 2].map(|i| c[i] - a[i]));
    let n = [0, 1, 2].map(|i| {
        let (j, k) = ((i + 1) % 3, (i + 2) % 3);
        u[j] * v[k] - u[k] * v[j]
    });
    let length = n.iter().map(|x| x * x).sum::<f64>().sqrt();
    if length > 0.0 { n.map(|x| x / length) } else { [0.0; 3] }
}
