//! Dense kernels on column-major blocks: the elimination of a front's own columns, and
//! C -= A B'.
//!
//! Fronts of slender parts are small, a few dozen rows, where a general library's calls cost more
//! than their work; these loops are compiled into the caller for its instruction set. Large blocks go
//! to the library.

use crate::error::Failure;
use crate::linear::Inertia;
use faer::linalg::matmul::matmul;
use faer::{Accum, MatMut, MatRef, Par};

/// Columns eliminated before the rest of a front is updated: their block stays in the cache.
pub(super) const BLOCK: usize = 64;
/// Columns of the register tile.
const TILE: usize = 4;
/// Products with all three sizes from here on go to the library (tuning).
const LARGE: usize = 48;
/// Columns of a product that are handed to the library at once.
const CHUNK: usize = 96;

/// A column-major block inside a slice: entry (i, j) is at `i + j * stride`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Block<'a> {
    pub(super) data: &'a [f64],
    pub(super) stride: usize,
}

impl<'a> Block<'a> {
    /// The same block from another row on.
    pub(super) fn below(self, row: usize) -> Self {
        Self { data: self.data.get(row..).unwrap_or(&[]), stride: self.stride }
    }
}

/// `R` rows and `C` columns of C -= A B', summed in registers.
#[inline(always)]
fn tile<const R: usize, const C: usize, const FUSED: bool>(
    c: &mut [f64],
    stride: usize,
    a: Block<'_>,
    b: Block<'_>,
    depth: usize,
) {
    let mut sum = [[0.0; R]; C];
    for k in 0..depth {
        let (Some(a), Some(b)) =
            (a.data[k * a.stride..].first_chunk::<R>(), b.data[k * b.stride..].first_chunk::<C>())
        else {
            return;
        };
        for j in 0..C {
            for i in 0..R {
                sum[j][i] =
                    if FUSED { a[i].mul_add(b[j], sum[j][i]) } else { a[i] * b[j] + sum[j][i] };
            }
        }
    }
    for (j, sum) in sum.iter().enumerate() {
        let Some(column) = c[j * stride..].first_chunk_mut::<R>() else { return };
        for i in 0..R {
            column[i] -= sum[i];
        }
    }
}

/// `C` columns of C -= A B', from row `from` on.
#[inline(always)]
fn columns<const C: usize, const FUSED: bool>(
    c: &mut [f64],
    stride: usize,
    a: Block<'_>,
    b: Block<'_>,
    [from, rows, depth]: [usize; 3],
) {
    let mut i = from;
    while i + 8 <= rows {
        tile::<8, C, FUSED>(&mut c[i..], stride, a.below(i), b, depth);
        i += 8;
    }
    if i + 4 <= rows {
        tile::<4, C, FUSED>(&mut c[i..], stride, a.below(i), b, depth);
        i += 4;
    }
    while i < rows {
        tile::<1, C, FUSED>(&mut c[i..], stride, a.below(i), b, depth);
        i += 1;
    }
}

/// C -= A B' for a lower trapezoid C: column j from row j on, entries above are left undefined.
///
/// A has the rows of C and `depth` columns, B the columns of C as its rows.
#[inline(always)]
pub(super) fn subtract_product<const FUSED: bool>(
    c: &mut [f64],
    stride: usize,
    a: Block<'_>,
    b: Block<'_>,
    [rows, width, depth]: [usize; 3],
) {
    if rows == 0 || width == 0 || depth == 0 {
        return;
    }
    if rows >= LARGE && width >= LARGE && depth >= LARGE / 2 {
        let mut j = 0;
        while j < width {
            let n = CHUNK.min(width - j);
            let sizes = [rows - j, n, depth];
            library_product(&mut c[j * stride + j..], stride, a.below(j), b.below(j), sizes);
            j += n;
        }
        return;
    }
    let mut j = 0;
    while j + TILE <= width {
        columns::<TILE, FUSED>(&mut c[j * stride..], stride, a, b.below(j), [j, rows, depth]);
        j += TILE;
    }
    while j < width {
        columns::<1, FUSED>(&mut c[j * stride..], stride, a, b.below(j), [j, rows, depth]);
        j += 1;
    }
}

fn library_product(
    c: &mut [f64],
    stride: usize,
    a: Block<'_>,
    b: Block<'_>,
    [rows, width, depth]: [usize; 3],
) {
    let b_data = &b.data[..b.stride * (depth - 1) + width];
    let a_data = &a.data[..a.stride * (depth - 1) + rows];
    let c = &mut c[..stride * (width - 1) + rows];
    let b = MatRef::from_column_major_slice_with_stride(b_data, width, depth, b.stride);
    let a = MatRef::from_column_major_slice_with_stride(a_data, rows, depth, a.stride);
    let c = MatMut::from_column_major_slice_with_stride_mut(c, rows, width, stride);
    matmul(c, Accum::Add, a, b.transpose(), -1.0, Par::Seq);
}

/// The own columns of a front and what their elimination leaves for its other rows.
#[derive(Debug)]
pub(super) struct Front<'a> {
    /// All rows by own columns, lower trapezoid; becomes L below its unit diagonal, D on it.
    pub(super) panel: &'a mut [f64],
    /// Square of the other rows, lower triangle; what they pass on to the parent.
    pub(super) update: &'a mut [f64],
    pub(super) rows: usize,
    pub(super) own: usize,
}

/// Eliminates the own columns of a front, L D L' without pivoting.
///
/// Blocks of columns from left to right; inside a block each group of four columns first takes what
/// the columns before it in the block owe it. `scratch` holds L D of a block, rows by [`BLOCK`].
#[inline(always)]
pub(super) fn eliminate<const FUSED: bool>(
    front: &mut Front<'_>,
    scratch: &mut [f64],
    inertia: &mut Inertia,
) -> Result<(), Failure> {
    let (rows, own) = (front.rows, front.own);
    let mut block = 0;
    while block < own {
        let end = own.min(block + BLOCK);
        let mut first = block;
        while first < end {
            let last = end.min(first + TILE);
            let (left, right) = front.panel.split_at_mut(first * rows);
            let a = Block { data: &left[block * rows..], stride: rows }.below(first);
            let b = Block { data: scratch, stride: rows }.below(first);
            let sizes = [rows - first, last - first, first - block];
            subtract_product::<FUSED>(&mut right[first..], rows, a, b, sizes);
            for j in first..last {
                let (done, rest) = right.split_at_mut((j - first + 1) * rows);
                let column = &mut done[(j - first) * rows + j..];
                let pivot = column[0];
                inertia.count(pivot)?;
                let keep = &mut scratch[(j - block) * rows + j..][..rows - j];
                keep.copy_from_slice(column);
                let inverse = 1.0 / pivot;
                for l in &mut column[1..] {
                    *l *= inverse;
                }
                for k in j + 1..last {
                    let factor = -keep[k - j];
                    let target = &mut rest[(k - j - 1) * rows + k..][..rows - k];
                    let own_column = &column[k - j..];
                    for (t, l) in target.iter_mut().zip(own_column) {
                        *t = if FUSED { l.mul_add(factor, *t) } else { l * factor + *t };
                    }
                }
            }
            first = last;
        }
        let depth = end - block;
        let (left, right) = front.panel.split_at_mut(end * rows);
        let a = Block { data: &left[block * rows..], stride: rows };
        let b = Block { data: scratch, stride: rows };
        if end < own {
            let sizes = [rows - end, own - end, depth];
            subtract_product::<FUSED>(&mut right[end..], rows, a.below(end), b.below(end), sizes);
        }
        let others = rows - own;
        let sizes = [others, others, depth];
        subtract_product::<FUSED>(front.update, others, a.below(own), b.below(own), sizes);
        block = end;
    }
    Ok(())
}
