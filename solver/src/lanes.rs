//! Eight numbers at a time: one element each, so that a kernel written once uses wide registers.
//!
//! Plain arrays and loops: inside a function compiled for AVX2 and FMA the compiler turns each
//! operation into two vector instructions; elsewhere it stays correct. `FUSED` picks the fused
//! multiply-add, which is a slow library call where the machine has none.

use std::ops::{Add, Mul, Neg, Sub};

/// How many elements a batch holds.
pub(crate) const WIDTH: usize = 8;

/// One number of each of eight elements.
#[derive(Clone, Copy, Debug)]
#[repr(align(64))]
pub(crate) struct Lanes(pub(crate) [f64; WIDTH]);

impl Lanes {
    pub(crate) const ZERO: Self = Self([0.0; WIDTH]);

    #[inline(always)]
    pub(crate) fn splat(value: f64) -> Self {
        Self([value; WIDTH])
    }

    /// `self * b + c`.
    #[inline(always)]
    pub(crate) fn times_plus<const FUSED: bool>(self, b: Self, c: Self) -> Self {
        let mut r = [0.0; WIDTH];
        for l in 0..WIDTH {
            r[l] =
                if FUSED { self.0[l].mul_add(b.0[l], c.0[l]) } else { self.0[l] * b.0[l] + c.0[l] };
        }
        Self(r)
    }

    /// `1 / self`.
    #[inline(always)]
    pub(crate) fn recip(self) -> Self {
        let mut r = [0.0; WIDTH];
        for l in 0..WIDTH {
            r[l] = 1.0 / self.0[l];
        }
        Self(r)
    }

    /// The smaller of each pair; NaN counts as smaller than all, so that no check misses it.
    #[inline(always)]
    pub(crate) fn smaller(self, other: Self) -> Self {
        let mut r = [0.0; WIDTH];
        for l in 0..WIDTH {
            r[l] =
                if self.0[l] < other.0[l] || self.0[l].is_nan() { self.0[l] } else { other.0[l] };
        }
        Self(r)
    }
}

impl Add for Lanes {
    type Output = Self;
    #[inline(always)]
    fn add(self, other: Self) -> Self {
        let mut r = [0.0; WIDTH];
        for l in 0..WIDTH {
            r[l] = self.0[l] + other.0[l];
        }
        Self(r)
    }
}

impl Sub for Lanes {
    type Output = Self;
    #[inline(always)]
    fn sub(self, other: Self) -> Self {
        let mut r = [0.0; WIDTH];
        for l in 0..WIDTH {
            r[l] = self.0[l] - other.0[l];
        }
        Self(r)
    }
}

impl Mul for Lanes {
    type Output = Self;
    #[inline(always)]
    fn mul(self, other: Self) -> Self {
        let mut r = [0.0; WIDTH];
        for l in 0..WIDTH {
            r[l] = self.0[l] * other.0[l];
        }
        Self(r)
    }
}

impl Neg for Lanes {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        let mut r = [0.0; WIDTH];
        for l in 0..WIDTH {
            r[l] = -self.0[l];
        }
        Self(r)
    }
}
