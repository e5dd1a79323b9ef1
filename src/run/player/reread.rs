//! What another rover file changes: findings that came, that went, and that count differently.

use crate::findings::Finding;

/// One sentence for each change, with the findings of the rover file inside the session (`before`) and of the new one.
pub(super) fn changes(before: &[Finding], now: &[Finding]) -> Vec<String> {
    let same = |a: &Finding, b: &Finding| a.id == b.id && a.wheel == b.wheel;
    let went = before.iter().filter(|old| !now.iter().any(|new| same(old, new)));
    let came = now.iter().filter(|new| !before.iter().any(|old| same(old, new)));
    let went = went.map(|old| format!("went: {} ({}): {}", old.id, old.severity.id(), old.says));
    let came = came.map(|new| format!("came: {} ({}): {}", new.id, new.severity.id(), new.says));
    let other = now.iter().filter_map(|new| {
        let old = before.iter().find(|old| same(old, new))?;
        (old.count != new.count).then(|| format!("changed: {}: {} places, {} before", new.id, new.count, old.count))
    });
    let mut all: Vec<String> = went.chain(came).chain(other).collect();
    if all.is_empty() {
        all.push("no finding came, went or changed its count".to_owned());
    }
    all
}
