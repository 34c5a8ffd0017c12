//! Places, keepers and saved views.

use journal::SubjectKind;
use serde_json::json;

use super::{
    scribe::About,
    stock::{KEEPERS, PLACES},
    world::World,
};

const VIEWS: [(&str, &str); 4] = [
    ("Streptocarpus, newest first", "genus=Streptocarpus&sort=came"),
    ("parents still to ask for", "missing=parents"),
    ("raised here", "own=yes&sort=number"),
    ("what has died", "state=dead&sort=last"),
];

pub(super) fn settle(world: &mut World) {
    let words = |w: &str| About::Words(w.to_owned());
    let s = &mut world.scribe;
    let pen = s.act("add", words("places"), world.start);
    for (order, (name, note, ..)) in (1..).zip(PLACES) {
        let uid = s.create(pen, SubjectKind::Place, None);
        s.claim(pen, uid, "name", json!(name));
        s.claim(pen, uid, "note", json!(note));
        s.claim(pen, uid, "order", json!(order));
        world.places.push(uid);
    }
    let pen = s.act("add", words("keepers"), world.start);
    for (name, kind, note) in KEEPERS {
        let uid = s.create(pen, SubjectKind::Keeper, None);
        s.claim(pen, uid, "name", json!(name));
        s.claim(pen, uid, "kind", json!(kind));
        s.claim(pen, uid, "note", json!(note));
        world.keepers.push(uid);
    }
    let pen = s.act("add", words("views"), world.start + 40);
    for (name, query) in VIEWS {
        let uid = s.create(pen, SubjectKind::View, None);
        s.claim(pen, uid, "name", json!(name));
        s.claim(pen, uid, "query", json!(query));
    }
}
