//! Long loops with the widest vector instructions that the processor at hand has.

/// Runs `work`, compiled once for any processor and once for one with 256-bit vectors; which is taken is decided
/// when it runs. The loops must be in `work` itself or in functions that are always inlined.
///
/// Both compilations do the same operations in the same order, no multiplication fused with an addition,
/// so that both give the same bytes.
#[inline(always)]
pub fn wide<R>(work: impl FnOnce() -> R) -> R {
    pulp::Arch::new().dispatch(work)
}
