//! What a grower does: begin, bring in a list, log, undo, print a label.

use crate::house::{House, Outcome, Screen, visit};

/// Asks for the PDF that the form on the page makes, and tells what came.
const FETCH_PDF: &str = r"
    const done = arguments[arguments.length - 1];
    const form = document.querySelector('form[action=\'/labels.pdf\']');
    fetch('/labels.pdf?' + new URLSearchParams(new FormData(form)).toString())
      .then(async (r) => {
        const b = new Uint8Array(await r.arrayBuffer());
        done([r.status, r.headers.get('content-type'), String.fromCharCode(...b.slice(0, 5)), b.length]);
      })
      .catch((e) => done([0, String(e), '', 0]));
";

async fn add_plant(house: &House, name: &str) -> Outcome {
    house.go("/plants/new").await?;
    house.one("main input[name=name]").await?.send_keys(name).await?;
    house.press("main form.form button.main").await
}

#[tokio::test(flavor = "multi_thread")]
async fn the_first_page_offers_four_ways_and_the_demo_comes_and_goes_with_one_click() {
    visit(Screen::Desk, false, |house| async move {
        house.go("/").await?;
        assert_eq!(house.path().await?, "/begin");
        for way in [
            "main a[href='/plants/new']",
            "main a[href='/import']",
            "main form[action='/demo/in'] button",
            "main a[href='/restore']",
        ] {
            assert!(house.one(way).await?.is_displayed().await?, "{way}");
        }
        house.press("form[action='/demo/in'] button").await?;
        assert_eq!(house.path().await?, "/");
        house.go("/plants").await?;
        assert!(house.count("main a[href^='/plants/']").await? > 50, "the demo has many plants");
        house.press("form[action='/demo/out'] button").await?;
        assert_eq!(house.path().await?, "/begin", "the own record is still empty");
        house.go("/plants").await?;
        assert_eq!(house.count("main [data-row]").await?, 0);
        Ok(())
    })
    .await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_list_is_read_shown_written_and_taken_back() {
    visit(Screen::Desk, false, |house| async move {
        let lists = concat!(env!("CARGO_MANIFEST_DIR"), "/../intake/tests/data");
        let list = std::path::Path::new(lists).canonicalize()?.join("shelf-list.csv");
        let rows = std::fs::read_to_string(&list)?.lines().count();
        house.go("/import").await?;
        house.one("input[type=file]").await?.send_keys(list.display().to_string()).await?;
        house.press("form[action='/import'] button.main").await?;
        assert!(house.path().await?.starts_with("/import/"));
        let shown = house.text().await?;
        assert!(shown.contains("begonia bowerae"), "the original stands beside what was read");
        house.go("/plants").await?;
        assert_eq!(house.count("main [data-row]").await?, 0, "nothing is written yet");
        house.browser.back().await?;
        house.press("button[formaction$='/write']").await?;
        assert!(house.path().await?.ends_with("/written"), "{}", house.text().await?);
        let said = house.one("ul.counts li").await?.text().await?;
        house.go("/plants?state=any").await?;
        let written = house.count("main [data-row]").await?;
        assert!(written > 40, "{written} plants came of {rows} lines");
        assert!(said.starts_with(&format!("{written} plants")), "{said}; {written} are listed");
        house.browser.back().await?;
        house.press("main form[action='/undo'] button").await?;
        house.go("/plants?state=any").await?;
        assert_eq!(house.count("main [data-row]").await?, 0, "one undo takes all of it back");
        Ok(())
    })
    .await;
}

#[tokio::test(flavor = "multi_thread")]
async fn an_entry_is_logged_and_undone_and_a_label_printed() {
    visit(Screen::Desk, false, |house| async move {
        add_plant(&house, "Begonia 'Copper Lorry'").await?;
        assert_eq!(house.path().await?, "/plants/1");
        assert!(house.text().await?.contains("Copper Lorry"));

        house.press("main a[data-entry]").await?;
        house.press("main a[href$='kind=weighed']").await?;
        house.one("input[name=weight]").await?.send_keys("412 g").await?;
        house.press("main form.form button.main").await?;
        assert_eq!(house.path().await?, "/plants/1");
        assert!(house.one("section.journal").await?.text().await?.contains("412 g"));

        // The draft of the form is gone with it: the next one begins empty.
        house.go("/plants/1/log?kind=weighed").await?;
        assert_eq!(
            house.one("input[name=weight]").await?.prop("value").await?.as_deref(),
            Some("")
        );

        house.go("/plants/1").await?;
        house.press("footer form.undo button").await?;
        house.go("/plants/1").await?;
        let journal = house.one("section.journal").await?.text().await?;
        assert!(!journal.contains("412 g"), "the entry is undone: {journal}");
        house.go("/plants/1/history").await?;
        assert!(house.text().await?.contains("Copper Lorry"), "its history is kept");

        house.go("/plants/1").await?;
        house.press("main a[href^='/labels']").await?;
        house.one("form[action='/labels.pdf'] button").await?;
        let got = house.browser.execute_async(FETCH_PDF, vec![]).await?.json().clone();
        assert_eq!(got[0], 200, "{got}");
        assert_eq!(got[1], "application/pdf", "{got}");
        assert_eq!(got[2], "%PDF-", "{got}");
        assert!(got[3].as_u64().unwrap_or(0) > 3_000, "a label with its fonts is larger: {got}");
        Ok(())
    })
    .await;
}

#[tokio::test(flavor = "multi_thread")]
async fn at_the_shelf_one_touch_completes_the_sentence() {
    visit(Screen::Phone, false, |house| async move {
        add_plant(&house, "Streptocarpus saxorum").await?;
        house.press("form[action='/plants/1/says'] button[value=dry]").await?;
        assert_eq!(house.path().await?, "/plants/1");
        assert!(house.one("section.journal").await?.text().await?.contains("Watered"));
        Ok(())
    })
    .await;
}
