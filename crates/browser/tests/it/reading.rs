//! How the pages read: narrow, by keyboard, and in every theme without a complaint.

use thirtyfour::{Key, prelude::*};

use crate::house::{Outcome, Screen, visit};

/// Pages of the demo that are looked at.
const PAGES: [&str; 22] = [
    "/",
    "/plants",
    "/plants/1",
    "/plants/1/log",
    "/plants/1/log?kind=watered",
    "/places",
    "/crosses",
    "/keepers",
    "/labels?n=1",
    "/import",
    "/history",
    "/house",
    "/plants/46",
    "/plants/3/parents",
    "/plants/1/kin?with=2",
    "/places/1",
    "/keepers/1",
    "/find?q=begonia",
    "/names",
    "/how/flower_life",
    "/left-over",
    "/keys",
];

#[tokio::test(flavor = "multi_thread")]
async fn no_page_scrolls_sideways_on_the_narrowest_phone() {
    visit(Screen::Phone, true, |house| async move {
        for page in PAGES {
            house.go(page).await?;
            // A page that is too wide makes a telephone's window wider than its screen.
            let beyond = house
                .script(
                    "if (screen.width !== 320) return ['the screen is not 320 px wide'];
                     if (innerWidth <= 320 && document.documentElement.scrollWidth <= 320) return [];
                     const wide = [...document.querySelectorAll('body *')]
                       .filter((e) => e.getBoundingClientRect().right > 321);
                     return [`${innerWidth} px`, ...wide.filter((e) => !wide.some((x) => e !== x && e.contains(x)))
                       .slice(0, 5).map((e) => e.outerHTML.slice(0, 160))];",
                )
                .await?;
            let beyond = beyond.as_array().cloned().unwrap_or_default();
            assert!(beyond.is_empty(), "{page} is wider than 320 px: {beyond:#?}");
        }
        Ok(())
    })
    .await;
}

/// Presses Tab from the top of a page; everything that can be acted on must come, visibly.
async fn tabbed(house: &crate::house::House, page: &str) -> Outcome {
    house.go(page).await?;
    // Radio buttons of one name are one stop; what is folded away is none.
    let stops = house
        .script(
            "const all = [...document.querySelectorAll('a[href], button, input, select, textarea, summary')]
               .filter((e) => e.tabIndex >= 0 && !e.disabled && e.type !== 'hidden' && e.checkVisibility());
             const groups = new Set();
             return all.filter((e) => e.type !== 'radio' || (!groups.has(e.name) && groups.add(e.name))).length;",
        )
        .await?
        .as_u64()
        .unwrap_or(0);
    assert!(stops > 8, "{page} has {stops} stops");
    let stops = stops.min(60);
    for stop in 1..=stops {
        house.browser.action_chain().send_keys(Key::Tab).perform().await?;
        let seen = house
            .script(
                "const e = document.activeElement, s = getComputedStyle(e);
                 const again = e.dataset.reached === 'yes'; e.dataset.reached = 'yes';
                 const drawn = s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 1;
                 return [e !== document.body, again, drawn, e.outerHTML.slice(0, 120)];",
            )
            .await?;
        assert_eq!(seen[0], true, "{page}: stop {stop} of {stops} is nowhere");
        assert_eq!(seen[1], false, "{page}: stop {stop} of {stops} comes twice: {}", seen[3]);
        assert_eq!(seen[2], true, "{page}: the focus cannot be seen on {}", seen[3]);
    }
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn everything_is_reached_by_keyboard_and_the_focus_is_seen() {
    visit(Screen::Desk, true, |house| async move {
        for page in ["/plants/1", "/plants/1/log?kind=watered", "/import"] {
            tabbed(&house, page).await?;
        }
        house.go("/plants").await?;
        house.browser.action_chain().send_keys("/").perform().await?;
        let focused = house.script("return document.activeElement.name").await?;
        assert_eq!(focused, "q", "a stroke goes to the search field");
        house.browser.action_chain().send_keys("Begonia").send_keys(Key::Enter).perform().await?;
        house.one("main a[href^='/plants/']").await?;
        house.browser.action_chain().send_keys("?").perform().await?;
        house.browser.query(By::Css("main")).first().await?;
        for _ in 0..50 {
            if house.path().await? == "/keys" {
                return Ok(());
            }
            tokio::time::sleep(std::time::Duration::from_millis(100)).await;
        }
        Err("a question mark does not go to the list of keys".into())
    })
    .await;
}

#[tokio::test(flavor = "multi_thread")]
async fn pages_follow_the_theme_of_the_system_and_the_one_that_was_chosen() {
    visit(Screen::Desk, true, |house| async move {
        let ground = "return getComputedStyle(document.documentElement).backgroundColor + getComputedStyle(document.body).backgroundColor";
        let mut grounds = Vec::new();
        for theme in ["light", "dark"] {
            house.go("/house").await?;
            house.script(&format!("document.cookie = 'theme={theme}; path=/'")).await?;
            for page in PAGES {
                house.go(page).await?;
                grounds.push((theme, house.script(ground).await?.to_string()));
            }
        }
        grounds.dedup();
        assert_eq!(grounds.len(), 2, "one ground for each theme on every page: {grounds:?}");
        assert_ne!(grounds[0].1, grounds[1].1);
        Ok(())
    })
    .await;
}
