//! A list from upload to plants; left-over rows; names and checklists.

use std::{fs, path::PathBuf, time::Duration};

use super::support::House;

fn list(name: &str) -> Vec<u8> {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../intake/tests/data").join(name);
    fs::read(path).unwrap()
}

fn plants(house: &House) -> i64 {
    house.app.journal().read(|r| r.totals()).unwrap().0
}

#[tokio::test]
async fn a_list_goes_from_upload_to_plants_and_back() {
    for name in ["shelf-list.csv", "cabinet.xlsx", "sammlung.csv", "stickers.txt"] {
        let house = House::new();
        let taken = house.upload("/import", &[("file", name, &list(name))]).await;
        assert_eq!(taken.status, 303, "{name}: {}", taken.text);
        let draft = taken.to.clone();
        let page = house.get(&draft).await;
        assert_eq!(page.status, 200, "{name}");
        assert!(page.text.contains("rows understood"), "{name}");
        assert!(!page.text.contains(" style="), "{name}: an inline style");
        assert_eq!(plants(&house), 0, "{name}: looking wrote something");

        // The button says how many plants it writes, and writes them.
        let promised: i64 = page
            .text
            .split("Write ")
            .nth(1)
            .and_then(|w| w.split(' ').next()?.parse().ok())
            .unwrap_or_else(|| panic!("{name}: the button does not say what it writes"));
        let done = house.post(&format!("{draft}/write"), &[]).await;
        assert_eq!(done.to, format!("{draft}/written"), "{name}: {}", done.text);
        assert_eq!(plants(&house), promised, "{name}");
        let result = house.get(&done.to).await;
        assert!(result.text.contains("Take all of it back"), "{name}");
        assert!(house.get("/plants").await.text.contains("Begonia"), "{name}");

        // Brought in again, it adds nothing.
        let again = house.upload("/import", &[("file", name, &list(name))]).await;
        let page = house.get(&again.to).await;
        assert!(page.text.contains("Nothing new to write"), "{name}");
        house.post(&format!("{}/write", again.to), &[]).await;
        assert_eq!(plants(&house), promised, "{name}");
    }
}

#[tokio::test]
async fn answers_are_kept_with_the_draft_and_shown_before_anything_is_written() {
    let house = House::new();
    let text = b"Name,From,Date\nBegonia bowerae,Orla,3/4/2020\nBegonia rex,Pell,25/6/2020\nBegonia listada,Pell,8/27/2020\n";
    let draft = house.upload("/import", &[("file", "dates.csv", text)]).await.to;
    assert!(house.get(&draft).await.text.contains("Which comes first in 3/4/2020?"));
    // Pressing “write” with an answer that was not read yet shows it first.
    let pressed = house.post(&format!("{draft}/write"), &[("q:date_order", "month_first")]).await;
    assert_eq!(pressed.to, format!("{draft}?again=yes"));
    assert_eq!(plants(&house), 0);
    let page = house.get(&draft).await.text;
    assert!(page.contains("4 Mar 2020") || page.contains("4 March 2020"), "{page}");
    assert!(page.contains("value=\"month_first\" checked"));
    assert!(page.contains("no question"));
    house.post(&format!("{draft}/write"), &[("q:date_order", "month_first")]).await;
    assert_eq!(plants(&house), 3);
}

#[tokio::test]
async fn typed_labels_are_read_and_columns_can_be_changed() {
    let house = House::new();
    let draft = house
        .upload("/import", &[("file", "two.csv", b"Name,From,Place\nBegonia bowerae,Orla,sill\n")])
        .await
        .to;
    let changed = house.post(&draft, &[("m:0:1", "notes")]).await;
    assert!(changed.to.ends_with("?again=yes"));
    house.post(&format!("{draft}/write"), &[]).await;
    assert!(house.app.journal().read(|r| r.keepers()).unwrap().is_empty());
}

#[tokio::test]
async fn a_file_that_cannot_be_read_is_refused_with_its_name() {
    let house = House::new();
    let refused = house.upload("/import", &[("file", "empty.csv", b"\n\n")]).await;
    assert_eq!(refused.status, 422);
    assert!(refused.text.contains("empty.csv"), "{}", refused.text);
    assert!(!house.folder.path().join("drafts").exists());
    let nothing = house.post("/import/0123456789abcdef/write", &[]).await;
    assert_eq!(nothing.status, 404);
}

#[tokio::test]
async fn what_was_left_over_is_mended_or_dismissed() {
    let house = House::new();
    let text = b"Name,Mother,Father\nBegonia 'Grey Gate',Begonia 'Grey Gate',Begonia bowerae\nBegonia 'Tin Lark',Begonia 'Tin Lark',Begonia rex\n";
    let draft = house.upload("/import", &[("file", "own.csv", text)]).await.to;
    house.post(&format!("{draft}/write"), &[]).await;
    let waiting = answers::left_over::waiting(&house.app.journal()).unwrap();
    assert_eq!(waiting.len(), 2);
    let page = house.get("/left-over").await.text;
    assert!(page.contains("Grey Gate") && page.contains("own.csv, row 2"), "{page}");
    let form = house.get(&format!("/left-over/{}", waiting[0].uid)).await.text;
    assert!(form.contains("Grey Gate"), "{form}");
    let mended = house
        .post(&format!("/left-over/{}", waiting[0].uid), &[("name", "Begonia 'Grey Gate'")])
        .await;
    assert!(mended.to.starts_with("/plants/"), "{}", mended.text);
    house.post(&format!("/left-over/{}/dismiss", waiting[1].uid), &[]).await;
    assert!(house.get("/left-over").await.text.contains("Nothing is left over"));
    assert_eq!(plants(&house), 1);
}

#[tokio::test]
async fn a_name_is_checked_and_a_checklist_loaded() {
    let house = House::new();
    let page = house.get("/names?name=Dischidia%20numularia").await.text;
    assert!(page.contains("nummularia") && page.contains("one letter off"), "{page}");
    assert!(page.contains("Kew"));
    let data = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../names/tests/data");
    let read = |n: &str| fs::read(data.join(n)).unwrap();
    let (names, areas) =
        (read("wcvp-layout-clethra-names.csv"), read("wcvp-layout-clethra-distribution.csv"));
    house.upload("/names", &[("file", "names.csv", &names), ("file", "areas.csv", &areas)]).await;
    let mut page = String::new();
    for _ in 0..100 {
        page = house.get("/names?name=Clethra%20arborea").await.text;
        if !page.contains("http-equiv") {
            break;
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    assert!(page.contains("Loaded: "), "{page}");
    assert!(page.contains("Madeira"), "{page}");
}
