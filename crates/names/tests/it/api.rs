use names::{Context, Verdict, read};

#[test]
fn a_binomial_is_set_in_italics() {
    let reading = read("Begonia maculata", &Context::default());
    assert_eq!(reading.verdict, Verdict::Valid);
    assert_eq!(reading.html(), "<i>Begonia</i> <i>maculata</i>");
    assert_eq!(reading.typst(), "#emph[Begonia] #emph[maculata]");
    assert_eq!(reading.plain(), "Begonia maculata");
    assert_eq!(reading.short_html(true), "<i>B.</i> <i>maculata</i>");
    assert_eq!(reading.genus(), Some("Begonia"));
    assert_eq!(reading.sort_key(), "begonia  maculata");
}
