//! Feed and potting by the command.

use crate::support::House;

#[test]
fn a_can_and_its_shelf() {
    let house = House::new();
    house.good(&["feed", "keep", "orchid feed", "--label", "13-3-15", "--at", "100 0.7"]);
    house.good(&["feed", "water", "tap", "--kind", "tap", "--conductivity", "650 µS/cm"]);
    let shelf = house.good(&["feed"]).out;
    assert!(shelf.contains("13–3–15") && shelf.contains("0.65 mS/cm"), "{shelf}");
    let can =
        house.good(&["feed", "can", "orchid feed", "--nitrogen", "100", "--water", "tap"]).out;
    for words in ["0.769 g", "1.35 mS/cm", "Keep feed locked away."] {
        assert!(can.contains(words), "{words}: {can}");
    }
    let json = house
        .good(&["feed", "can", "1", "--for", "orchids", "--litres", "2", "--as", "json"])
        .json();
    // 125 mg/L of 13 % in two litres: 1.923 g.
    assert!((json["grams"].as_f64().unwrap() - 1.923).abs() < 1e-3, "{json}");
    let wrong = house.run(&["feed", "can", "lawn feed", "--nitrogen", "100"]);
    assert!(wrong.status != 0 && wrong.err.contains("orchid feed"), "{}", wrong.err);
    house.good(&["feed", "used-up", "1"]);
    assert!(!house.good(&["feed"]).out.contains("13–3–15"));
    house.good(&["undo"]);
    assert!(house.good(&["feed"]).out.contains("13–3–15"));
    assert!(house.good(&["feed", "rates"]).out.contains("gesneriads"));
}

#[test]
fn what_to_pot_and_what_to_prepare() {
    let house = House::new();
    house.good(&["add", "--name", "Streptocarpus rexii", "--came", "2015-03"]);
    house.good(&["log", "potted", "1", "pot=10 cm", "--on", "2016-04-01"]);
    let list = house.good(&["potting"]).out;
    assert!(list.contains("Streptocarpus rexii") && list.contains("gesneriads"), "{list}");
    house.good(&["potting", "material", "bark", "10 EUR for 50 L"]);
    house.good(&["potting", "keep", "bark alone", "bark 1"]);
    let plan = house.good(&["potting", "mix", "1", "--mix", "bark alone", "--pot", "1 L"]).out;
    for words in ["1.18 L", "0.24 EUR", "Dust."] {
        assert!(plan.contains(words), "{words}: {plan}");
    }
    assert!(house.good(&["potting", "shelf"]).out.contains("bark alone"));
    let refused = house.run(&["potting", "mix", "1", "--mix", "bark", "--pot", "1 L"]);
    assert!(refused.err.contains("bark 4, perlite 3"), "{}", refused.err);
    let asked = house.good(&["ask", "repot", "1"]).out;
    assert!(asked.contains("Roots usually fill the pot"), "{asked}");
}
