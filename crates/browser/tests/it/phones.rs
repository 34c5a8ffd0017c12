//! Phones at the shelf: a lost connection, and the main pages by keyboard alone.

use thirtyfour::Key;

use crate::house::{House, Outcome, Screen, visit, visit_with};

/// Adds a plant by keyboard.
async fn plant(house: &House, name: &str) -> Outcome {
    house.go("/plants/new").await?;
    house.tab_to("main input[name=name]").await?;
    house.keys(name).await?;
    house.keys(Key::Enter).await?;
    house
        .until("return location.pathname === '/plants/1' && document.readyState === 'complete'")
        .await
}

/// What the page says of entries that wait.
async fn waiting(house: &House) -> Result<String, Box<dyn std::error::Error + Send + Sync>> {
    let said = house
        .script("const w = document.querySelector('#waits'); return w.hidden ? '' : w.innerText")
        .await?;
    Ok(said.as_str().unwrap_or("").to_owned())
}

#[tokio::test(flavor = "multi_thread")]
async fn entries_without_a_connection_wait_in_sight_and_arrive_once_and_in_order() {
    visit_with(Screen::Phone, false, &["ERR_INTERNET_DISCONNECTED"], |house| async move {
        plant(&house, "Streptocarpus saxorum").await?;
        house.cut_off(true).await?;
        for (n, value) in ["dry", "moist", "flower"].into_iter().enumerate() {
            house.tab_to(&format!(".foot-says button[value={value}]")).await?;
            house.keys(Key::Enter).await?;
            house
                .until(&format!(
                    "return document.querySelectorAll('#waits li').length === {} && \
                     !document.querySelector('form[data-sending]')",
                    n + 1
                ))
                .await?;
        }
        assert_eq!(house.path().await?, "/plants/1", "the page stays open");
        let said = waiting(&house).await?;
        assert!(said.contains("3 entries wait for the house"), "{said}");
        for words in ["dry, watered", "still moist", "in flower", "Streptocarpus saxorum"] {
            assert!(said.contains(words), "{words}: {said}");
        }
        let width = house.script("return document.documentElement.scrollWidth").await?;
        assert!(width.as_u64().unwrap_or(999) <= 320, "wider than the phone: {width}");

        // One of the three went out, and only its answer was lost: the house has it already. The
        // browser is still cut off, so that the page cannot send it first.
        let first = house
            .script(
                "const w = JSON.parse(localStorage.getItem('waits'))[0];
                 return [w.path, new URLSearchParams(w.fields).toString(), w.id, w.day]",
            )
            .await?;
        let part = |n: usize| first[n].as_str().unwrap_or_default();
        let headers = [("X-Umbel-Op", part(2)), ("X-Umbel-Day", part(3))];
        let answer = house.post(part(0), &headers, part(1)).await?;
        assert!(answer.to_lowercase().contains("x-umbel-to: /plants/1\r\n"), "{answer}");
        house.cut_off(false).await?;
        house.script("dispatchEvent(new Event('online'))").await?;
        house.until("return !document.querySelector('#waits li')").await?;
        assert!(waiting(&house).await?.contains("has arrived"));

        house.go("/history").await?;
        let steps = house
            .script(
                "return [...document.querySelectorAll('main tbody tr')].map((r) => r.cells[1].innerText)",
            )
            .await?;
        let steps: Vec<&str> =
            steps.as_array().into_iter().flatten().filter_map(|s| s.as_str()).collect();
        let of = |word: &str| steps.iter().position(|s| s.contains(word));
        assert_eq!(steps.len(), 4, "the plant and three entries, each once: {steps:?}");
        let order = [of("opened"), of("checked"), of("watered")];
        assert_eq!(order, [Some(0), Some(1), Some(2)], "newest first: {steps:?}");
        Ok(())
    })
    .await;
}

#[tokio::test(flavor = "multi_thread")]
async fn what_the_house_does_not_take_stays_with_the_reason() {
    let on_purpose = ["ERR_INTERNET_DISCONNECTED", "status of 422"];
    visit_with(Screen::Phone, false, &on_purpose, |house| async move {
        plant(&house, "Begonia 'Copper Lorry'").await?;
        house.go("/plants/1/log?kind=weighed").await?;
        house.cut_off(true).await?;
        house.tab_to("main input[name=weight]").await?;
        house.keys("heavy").await?;
        house.keys(Key::Enter).await?;
        house.until("return document.querySelectorAll('#waits li').length === 1").await?;
        // Closed and opened again: it still waits.
        house.cut_off(false).await?;
        house.go("/plants/1").await?;
        house.until("return !!document.querySelector('#waits li p')").await?;
        let said = waiting(&house).await?;
        assert!(said.contains("One entry was not taken."), "{said}");
        assert!(said.contains("heavy"), "with what was typed: {said}");
        house.tab_to("#waits li button:last-child").await?;
        house.keys(Key::Enter).await?;
        house.browser.accept_alert().await?;
        house.until("return document.querySelector('#waits').hidden").await?;
        Ok(())
    })
    .await;
}

/// A form that is taken at once leads on as ever, and one press is one entry.
#[tokio::test(flavor = "multi_thread")]
async fn two_quick_presses_are_one_entry() {
    visit(Screen::Phone, false, |house| async move {
        plant(&house, "Begonia venosa").await?;
        house
            .script(
                "const b = document.querySelector('.foot-says button[value=dry]');
                 b.click(); b.click();",
            )
            .await?;
        house
            .until("return document.readyState === 'complete' && !!document.querySelector('section.journal') && document.querySelector('section.journal').innerText.includes('Watered')")
            .await?;
        house.go("/history").await?;
        assert_eq!(house.count("main tbody tr").await?, 2, "the plant and one entry");
        Ok(())
    })
    .await;
}

/// From the first page to a plant, an entry, the places, and back by undo: no mouse.
#[tokio::test(flavor = "multi_thread")]
async fn the_main_pages_are_walked_by_keyboard_alone() {
    visit(Screen::Desk, true, |house| async move {
        house.go("/").await?;
        for (css, path) in [
            (".head nav a[href='/plants']", "/plants"),
            ("main [data-row] a", "/plants/"),
            ("main a[data-entry]", "/log"),
            ("main a[href$='kind=watered']", "/log"),
            (".head nav a[href='/places']", "/places"),
            ("main a[href^='/places/']", "/places/"),
            (".head nav a[href='/crosses']", "/crosses"),
            (".head nav a[href='/keepers']", "/keepers"),
            (".head nav a[href='/show']", "/show"),
            ("footer a[href='/house']", "/house"),
            ("footer a[href='/history']", "/history"),
            (".head nav a[href='/']", "/"),
        ] {
            house.script("window.umbelSame = true").await?;
            house.tab_to(css).await?;
            house.keys(Key::Enter).await?;
            house
                .until("return window.umbelSame !== true && document.readyState === 'complete'")
                .await?;
            assert!(house.path().await?.contains(path), "{css}: {}", house.path().await?);
        }
        // An entry, and its undo.
        house.go("/plants/14/log?kind=note").await?;
        house.tab_to("main textarea[name=note]").await?;
        house.keys("seen by keyboard").await?;
        house.tab_to("main form.form button.main").await?;
        house.keys(Key::Enter).await?;
        house
            .until(
                "return location.pathname === '/plants/14' && document.readyState === 'complete'",
            )
            .await?;
        assert!(house.text().await?.contains("seen by keyboard"));
        house.tab_to("footer form.undo button").await?;
        house.script("window.umbelSame = true").await?;
        house.keys(Key::Enter).await?;
        house
            .until("return window.umbelSame !== true && document.readyState === 'complete'")
            .await?;
        assert!(!house.text().await?.contains("seen by keyboard"));
        Ok(())
    })
    .await;
}
