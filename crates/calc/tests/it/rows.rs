//! What all calculators share: reading a table, and refusing what cannot be used.

use crate::support::{Desk, bad, good};

#[test]
fn what_cannot_be_read_is_refused_with_its_place() {
    let desk = Desk::new();
    let file = desk.table("t.csv", "left,right\n3,5\n4,five\n");
    let refused = bad(&["time-to-event", &file, "--fit", "turnbull"]);
    assert_eq!(refused.status, 2);
    for part in ["row 3", "column right", "“five”", "a number"] {
        assert!(refused.what.contains(part), "{} lacks {part}", refused.what);
    }
    let ragged = desk.table("r.csv", "left,right\n3,5\n4\n");
    let refused = bad(&["time-to-event", &ragged, "--fit", "turnbull"]);
    assert!(refused.what.contains("row 3: 1 cells where the header has 2"), "{}", refused.what);
    let refused = bad(&["time-to-event", "no-such.csv", "--fit", "turnbull"]);
    assert!(refused.what.contains("there is no such file"), "{}", refused.what);
    assert_eq!(refused.status, 2);
}

#[test]
fn words_that_are_no_command_are_refused() {
    let refused = bad(&["proportion", "--successes", "3"]);
    assert_eq!(refused.status, 2);
    assert!(refused.what.contains("--trials"), "{}", refused.what);
    let found = good(&["proportion", "--successes", "3", "--trials", "7"]);
    assert_eq!(found.table.rows.len(), 3);
}
