//! Runs a kernel compiled for the widest vector instructions of this machine that pay.
//!
//! AVX2 with fused multiply-add where the processor has them, plain instructions elsewhere. AVX-512
//! was measured at half the speed of AVX2 for the element kernel, so it is not used.

/// A piece of work compiled once for each instruction set.
pub(crate) trait Job {
    type Output;
    /// `FUSED`: the multiply-add of this instruction set is one instruction.
    ///
    /// Implementations carry `#[inline(always)]`, else they are compiled for no instruction set in
    /// particular.
    fn run<const FUSED: bool>(self) -> Self::Output;
}

/// Runs `job` with the best instruction set of this machine.
#[cfg(target_arch = "x86_64")]
pub(crate) fn run<J: Job>(job: J) -> J::Output {
    struct Fused<J>(J);
    impl<J: Job> pulp::NullaryFnOnce for Fused<J> {
        type Output = J::Output;
        #[inline(always)]
        fn call(self) -> J::Output {
            self.0.run::<true>()
        }
    }
    match pulp::x86::V3::try_new() {
        Some(v3) => v3.vectorize(Fused(job)),
        None => job.run::<false>(),
    }
}

/// Runs `job`; the base instruction set has a fused multiply-add.
#[cfg(target_arch = "aarch64")]
pub(crate) fn run<J: Job>(job: J) -> J::Output {
    job.run::<true>()
}

/// Runs `job` with plain instructions.
#[cfg(not(any(target_arch = "x86_64", target_arch = "aarch64")))]
pub(crate) fn run<J: Job>(job: J) -> J::Output {
    job.run::<false>()
}
