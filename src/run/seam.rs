//! The seams of a run: where it may stop with one thing done and the next not yet. For tests, which stop it at each.
//!
//! In a debug build, `DAWNPACK_STOP_AT=n` ends the process without any tidying up at the n-th seam it comes to; in a
//! release build there is nothing here. Turned down: stopping from outside at random moments, which finds a seam once in
//! a hundred runs.

/// A seam, by what was done last.
#[derive(Clone, Copy, Debug)]
pub(super) enum Seam {
    /// The ledger took a file, or its refusal; it lies in the inbox.
    FileRecorded,
    /// Rows that were refused lie ready to be mended; their file lies in the inbox.
    RowsGivenBack,
    /// The plan is recorded; nothing is written.
    PlanRecorded,
    /// One paper is written; the ledger knows of none.
    PaperWritten,
    /// The message is queued; nobody has it.
    MailQueued,
    /// The message is delivered; the ledger has it as queued. The one seam at which something happens twice: no server
    /// and no ledger can be changed in one step, and a message that comes twice is better than one that never does.
    MailDelivered,
}

/// Comes to a seam.
#[cfg(debug_assertions)]
pub(super) fn pass(seam: Seam) {
    use std::sync::atomic::{AtomicUsize, Ordering};
    static PASSED: AtomicUsize = AtomicUsize::new(0);
    let stop_at = std::env::var("DAWNPACK_STOP_AT").ok().and_then(|at| at.parse::<usize>().ok());
    if stop_at.is_some_and(|at| PASSED.fetch_add(1, Ordering::Relaxed) + 1 == at) {
        tracing::error!("stopped at {seam:?}");
        std::process::abort();
    }
}

/// Comes to a seam, and goes on.
#[cfg(not(debug_assertions))]
pub(super) const fn pass(_: Seam) {}
