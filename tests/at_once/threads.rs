//! Work on many things at once, for tests that would leave a core idle.

/// What `work` makes of each, in their order: a thread for each. A panic in one of them is this test's own.
pub fn at_once<T: Sync, R: Send>(each: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let work = &work;
    std::thread::scope(|scope| {
        let begun: Vec<_> = each.iter().map(|one| scope.spawn(move || work(one))).collect();
        let ended = begun.into_iter().map(std::thread::ScopedJoinHandle::join);
        ended.map(|ended| ended.unwrap_or_else(|panic| std::panic::resume_unwind(panic))).collect()
    })
}
