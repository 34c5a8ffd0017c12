//! Photos: small drawn pictures, so that pages with photos can be looked at.

use journal::{Known, SubjectKind};
use serde_json::json;

use super::{scribe::line, stock::GROWER, timeline::on, world::World};

/// The content of each picture.
pub(crate) fn files() -> Vec<Vec<u8>> {
    (0..PICTURES.len()).map(picture).collect()
}

/// SHA-256 of each picture; a test compares them with what the record computes.
const PICTURES: [&str; 8] = [
    "62d890ce9a2f80bbc0376fafab5ba5d3e1f942ad93c0873de824c156ffa1ee5d",
    "db6d0940d59ca4ead6728f1cf7f0c078fcb36a695c0d34ba5384e188151804cc",
    "18b6fb2b45908a300f465cc6eeffba4a66cab79a4e00647721fb48f66412672a",
    "5bee9f98560aa4e0554c86b7b508808f177693f392e812d1f7a422d551ec8cc7",
    "78612c8d7522a91b49a9fa3529190bdc640bf2ff2c744fef6a8a6bc0eab53896",
    "f351134704a076c78246de6a1025c469f59616047e137930d331288ba3c6e2e8",
    "3e6e8ab09b74f7806c7f5757b0ee6cd359b0ec877bcdb51a7a0a4ba4d1d6091c",
    "4ce5abc552a3f5b908449f71b822b91562248d5a1478dc45605bb874e87f96fc",
];

const WIDE: usize = 160;
const HIGH: usize = 120;

/// Paper, leaf, leaf vein, petal, petal edge, eye.
fn palette(index: usize) -> [[u8; 3]; 6] {
    let petals = [
        [196, 62, 74],
        [120, 88, 176],
        [236, 170, 190],
        [244, 240, 226],
        [92, 120, 190],
        [214, 110, 60],
        [150, 40, 90],
        [230, 200, 110],
    ];
    let p = petals[index % petals.len()];
    let edge = p.map(|c| (f32::from(c) * 0.75) as u8);
    [[232, 234, 224], [74, 104, 70], [112, 142, 100], p, edge, [246, 226, 130]]
}

/// One flower on a leaf, `index` deciding colour and number of petals.
fn picture(index: usize) -> Vec<u8> {
    let petals = 4.0 + (index % 3) as f32;
    let mut pixels = Vec::with_capacity((WIDE + 1) * HIGH);
    for y in 0..HIGH {
        pixels.push(0);
        for x in 0..WIDE {
            let (dx, dy) = (x as f32 - 80.0, y as f32 - 56.0);
            let (r, angle) = (dx.hypot(dy), dy.atan2(dx));
            let petal = 34.0 * (0.55 + 0.45 * (petals * angle).cos().abs());
            let leaf = (dx / 74.0).powi(2) + ((dy - 10.0) / 50.0).powi(2);
            pixels.push(if r < 6.0 {
                5
            } else if r < petal - 3.0 {
                3
            } else if r < petal {
                4
            } else if leaf < 1.0 {
                if (dy - 10.0).abs() < 1.5 || (dx.abs() + dy * 0.9).rem_euclid(19.0) < 1.2 {
                    2
                } else {
                    1
                }
            } else {
                0
            });
        }
    }
    png(&palette(index), &pixels)
}

/// A PNG with a palette and stored (not compressed) data: W3C Portable Network Graphics
/// Specification, with the zlib container of RFC 1950.
fn png(palette: &[[u8; 3]], rows: &[u8]) -> Vec<u8> {
    let mut out = b"\x89PNG\r\n\x1a\n".to_vec();
    let mut head = Vec::new();
    head.extend((WIDE as u32).to_be_bytes());
    head.extend((HIGH as u32).to_be_bytes());
    head.extend([8, 3, 0, 0, 0]);
    chunk(&mut out, b"IHDR", &head);
    chunk(&mut out, b"PLTE", &palette.concat());
    let mut data = vec![0x78, 0x01];
    let length = rows.len() as u16;
    data.push(1);
    data.extend(length.to_le_bytes());
    data.extend((!length).to_le_bytes());
    data.extend(rows);
    let (mut a, mut b) = (1u32, 0u32);
    for &byte in rows {
        a = (a + u32::from(byte)) % 65_521;
        b = (b + a) % 65_521;
    }
    data.extend(((b << 16) | a).to_be_bytes());
    chunk(&mut out, b"IDAT", &data);
    chunk(&mut out, b"IEND", &[]);
    out
}

fn chunk(out: &mut Vec<u8>, name: &[u8; 4], data: &[u8]) {
    out.extend((data.len() as u32).to_be_bytes());
    let from = out.len();
    out.extend(name);
    out.extend(data);
    let mut crc = u32::MAX;
    for &byte in &out[from..] {
        crc ^= u32::from(byte);
        for _ in 0..8 {
            crc = if crc & 1 == 1 { (crc >> 1) ^ 0xEDB8_8320 } else { crc >> 1 };
        }
    }
    out.extend((!crc).to_be_bytes());
}

pub(super) fn all(world: &mut World) {
    let mut rng = world.rng("photos");
    let flowering: Vec<_> =
        world.flowers.iter().map(|f| (f.plant, dates::to_days(f.opened) + 1)).collect();
    for (index, hash) in PICTURES.iter().enumerate() {
        let (plant, day) = rng.pick(&flowering);
        let day = day.min(world.last);
        let pen = world.scribe.log(day);
        let photo = world.scribe.create(pen, SubjectKind::Photo, None);
        world.scribe.claim(pen, photo, "content", json!({"hash": hash, "ending": "png"}));
        let credit = if index % 3 == 0 { "Jorunn Askevold" } else { GROWER };
        world.scribe.claim(pen, photo, "credit", json!(credit));
        world.scribe.claim(pen, photo, "may_show", json!(index % 4 != 3));
        let l = line(plant, "photo", on(day), json!({"photo": photo.to_string()}))
            .known(Known::Photo)
            .note("Second day open, morning light. Drawn from the photo.");
        world.scribe.put(pen, l);
    }
}
