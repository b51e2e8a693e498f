//! What studies have in common: lists on the command line, and jobs on threads.

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Names with commas between.
pub fn listed<T>(value: &str, named: impl Fn(&str) -> Option<T>) -> Result<Vec<T>, String> {
    let each = value.split(',');
    each.map(|name| named(name).ok_or(format!("{name} is not known")))
        .collect()
}

/// What comes of each job, in the order of the jobs, whichever thread ends first.
pub fn done<J: Sync, T: Send>(
    threads: usize,
    jobs: &[J],
    each: impl Fn(usize, &J) -> T + Sync,
) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let found: Mutex<Vec<(usize, T)>> = Mutex::new(Vec::with_capacity(jobs.len()));
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let number = next.fetch_add(1, Ordering::Relaxed);
                    let Some(job) = jobs.get(number) else {
                        break;
                    };
                    let came = each(number, job);
                    let mut found = found.lock().expect("no thread panics while it holds it");
                    found.push((number, came));
                }
            });
        }
    });
    let mut found = found.into_inner().expect("all threads have ended");
    found.sort_by_key(|(number, _)| *number);
    found.into_iter().map(|(_, came)| came).collect()
}
