//! Generated lists.

use trial::lists::messy_list;

#[test]
fn a_list_has_a_line_for_each_true_row_and_is_the_same_each_time() {
    let list = messy_list(10_000, 7);
    assert_eq!(list.text.lines().count(), 10_001);
    assert_eq!(list.truth.len(), 10_000);
    assert_eq!(list.truth[9_999].row, 10_001);
    assert_eq!(list, messy_list(10_000, 7));
    assert_ne!(list.text, messy_list(10_000, 8).text);
    for row in &list.truth {
        let reading = names::read(&row.name, &names::Context::default());
        assert_eq!(reading.verdict, names::Verdict::Valid, "{}: {:?}", row.name, reading.problems);
    }
}
