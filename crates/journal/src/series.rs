//! Readings of loggers, packed.
//!
//! A block holds up to 4,096 readings in order of time, in thousandths of their units, as the
//! differences between one and the next, and ends with a checksum. It also says how far the
//! clocks of the house were ahead of UTC, so that the day of a reading needs no table of time
//! zones: where the clocks change a new block begins.

use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

/// One reading of a logger; what it does not measure is absent.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct AirReading {
    /// When \[s since 1970-01-01T00:00Z\].
    pub time: i64,
    /// Temperature \[°C\], kept to a thousandth.
    pub temperature: Option<f64>,
    /// Relative humidity \[%\], kept to a thousandth.
    pub humidity: Option<f64>,
    /// Illuminance \[lx\], kept to a thousandth.
    pub light: Option<f64>,
}

/// Why a block cannot be packed or unpacked.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BlockError {
    /// None or too many.
    #[error("a block of readings holds {0}, and may hold 1 to {most}", most = Block::MOST)]
    Count(usize),
    /// Two readings at one time, or one before the other.
    #[error("readings of a block are not in order of time at {0}")]
    Order(i64),
    /// A value that cannot be kept.
    #[error("a reading at {0} holds a value that cannot be kept")]
    Value(i64),
    /// The bytes are not those that were packed.
    #[error("a block of readings is damaged: {0}")]
    Damaged(&'static str),
}

/// Up to [`Block::MOST`] readings, packed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Block {
    /// How far the clocks of the house were ahead of UTC \[s\].
    pub east: i32,
    /// The bytes, the last eight being the checksum.
    #[serde(with = "as_hex")]
    pub(crate) packed: Vec<u8>,
}

/// First byte of a block: how it is packed.
const PACKING: u8 = 1;
const CHECKSUM: usize = 8;
/// Largest value kept \[thousandths\]: enough for full sun in lux a hundred times over.
const LARGEST: f64 = 1e12;

impl Block {
    /// The most readings of a block.
    pub const MOST: usize = 4096;

    /// Packs readings in order of time.
    ///
    /// # Errors
    /// When there are none or too many, they are out of order, or a value is not a number.
    pub fn pack(readings: &[AirReading], east: i32) -> Result<Self, BlockError> {
        if readings.is_empty() || readings.len() > Self::MOST {
            return Err(BlockError::Count(readings.len()));
        }
        let mut packed = vec![PACKING];
        put(&mut packed, readings.len() as u64);
        let (mut time, mut step) = (0i64, 0i64);
        let mut before = [0i64; 3];
        for (at, r) in readings.iter().enumerate() {
            if at > 0 && r.time <= time {
                return Err(BlockError::Order(r.time));
            }
            if r.time.unsigned_abs() > 1 << 40 {
                return Err(BlockError::Value(r.time));
            }
            let now = r.time - time;
            put_signed(&mut packed, now - step);
            // The first difference is the time itself: it says nothing of the step.
            step = if at == 0 { 0 } else { now };
            time = r.time;
            let values = [r.temperature, r.humidity, r.light];
            let mask: u8 = values.iter().rev().fold(0, |m, v| m << 1 | u8::from(v.is_some()));
            packed.push(mask);
            for (value, last) in values.iter().zip(&mut before) {
                let Some(value) = value else { continue };
                let scaled = value * 1000.0;
                if !scaled.is_finite() || scaled.abs() > LARGEST {
                    return Err(BlockError::Value(r.time));
                }
                let scaled = scaled.round() as i64;
                put_signed(&mut packed, scaled - *last);
                *last = scaled;
            }
        }
        let sum = checksum(&packed, east);
        packed.extend(sum);
        Ok(Self { east, packed })
    }

    /// The readings.
    ///
    /// # Errors
    /// When the bytes are not those that were packed.
    pub fn unpack(&self) -> Result<Vec<AirReading>, BlockError> {
        let damaged = BlockError::Damaged;
        let body = self.packed.len().checked_sub(CHECKSUM).ok_or(damaged("it is too short"))?;
        let (body, sum) = self.packed.split_at(body);
        if checksum(body, self.east) != sum {
            return Err(damaged("its checksum differs"));
        }
        let mut bytes = body.iter();
        if bytes.next() != Some(&PACKING) {
            return Err(damaged("it is packed in a way that is not known here"));
        }
        let short = damaged("it ends early");
        let count = take(&mut bytes).ok_or(short.clone())?;
        let count = usize::try_from(count).ok().filter(|n| (1..=Self::MOST).contains(n));
        let count = count.ok_or(damaged("its count is out of range"))?;
        let mut out: Vec<AirReading> = Vec::with_capacity(count);
        let (mut time, mut step) = (0i64, 0i64);
        let mut before = [0i64; 3];
        for at in 0..count {
            let now = step.wrapping_add(take_signed(&mut bytes).ok_or(short.clone())?);
            time = time.wrapping_add(now);
            step = if at == 0 { 0 } else { now };
            if out.last().is_some_and(|l| l.time >= time) {
                return Err(damaged("its times are out of order"));
            }
            let mask = *bytes.next().ok_or(short.clone())?;
            let mut values = [None; 3];
            for (i, (value, last)) in values.iter_mut().zip(&mut before).enumerate() {
                if mask >> i & 1 == 1 {
                    *last = last.wrapping_add(take_signed(&mut bytes).ok_or(short.clone())?);
                    *value = Some(*last as f64 / 1000.0);
                }
            }
            let [temperature, humidity, light] = values;
            out.push(AirReading { time, temperature, humidity, light });
        }
        if bytes.next().is_some() {
            return Err(damaged("bytes are left over"));
        }
        Ok(out)
    }

    /// The block of these hexadecimal digits.
    pub(crate) fn of_hex(east: i32, text: &str) -> Option<Self> {
        Some(Self { east, packed: unhex(text)? })
    }
}

fn checksum(body: &[u8], east: i32) -> [u8; CHECKSUM] {
    let digest = Sha256::new().chain_update(east.to_le_bytes()).chain_update(body).finalize();
    let mut sum = [0; CHECKSUM];
    sum.copy_from_slice(&digest[..CHECKSUM]);
    sum
}

fn put(out: &mut Vec<u8>, mut value: u64) {
    while value >= 0x80 {
        out.push(value as u8 | 0x80);
        value >>= 7;
    }
    out.push(value as u8);
}

fn put_signed(out: &mut Vec<u8>, value: i64) {
    put(out, (value << 1 ^ value >> 63) as u64);
}

fn take(bytes: &mut std::slice::Iter<'_, u8>) -> Option<u64> {
    let mut value = 0u64;
    for shift in (0..64).step_by(7) {
        let byte = *bytes.next()?;
        value |= u64::from(byte & 0x7F) << shift;
        if byte < 0x80 {
            return Some(value);
        }
    }
    None
}

fn take_signed(bytes: &mut std::slice::Iter<'_, u8>) -> Option<i64> {
    let value = take(bytes)?;
    Some((value >> 1) as i64 ^ -((value & 1) as i64))
}

fn unhex(text: &str) -> Option<Vec<u8>> {
    let digits = text.trim().as_bytes();
    if !digits.len().is_multiple_of(2) {
        return None;
    }
    let digit = |b: u8| (b as char).to_digit(16);
    digits.chunks(2).map(|p| Some((digit(p[0])? * 16 + digit(p[1])?) as u8)).collect()
}

mod as_hex {
    use serde::{Deserialize as _, Deserializer, Serializer, de::Error as _};

    pub(super) fn serialize<S: Serializer>(bytes: &[u8], to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&crate::photos::hex(bytes))
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<u8>, D::Error> {
        let text = String::deserialize(from)?;
        super::unhex(&text).ok_or_else(|| D::Error::custom("not hexadecimal digits"))
    }
}

/// What is added to the readings of a logger.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Correction {
    /// To temperatures \[K\].
    #[serde(default)]
    pub temperature: f64,
    /// To relative humidities \[% points\].
    #[serde(default)]
    pub humidity: f64,
}

impl Correction {
    /// The reading with what is added; humidity stays within 0 to 105 %.
    #[must_use]
    pub fn apply(&self, reading: AirReading) -> AirReading {
        AirReading {
            temperature: reading.temperature.map(|t| t + self.temperature),
            humidity: reading.humidity.map(|h| (h + self.humidity).clamp(0.0, 105.0)),
            ..reading
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn readings() -> impl Strategy<Value = Vec<AirReading>> {
        let value = || proptest::option::of((-60_000i64..150_000_000).prop_map(|v| v as f64 / 1e3));
        let one = (1i64..100_000, value(), value(), value());
        (-2_000_000_000i64..4_000_000_000, prop::collection::vec(one, 1..200)).prop_map(
            |(first, list)| {
                let mut time = first;
                list.into_iter()
                    .map(|(step, temperature, humidity, light)| {
                        time += step;
                        AirReading { time, temperature, humidity, light }
                    })
                    .collect()
            },
        )
    }

    proptest! {
        #[test]
        fn what_is_packed_comes_back(list in readings(), east in -50_000i32..50_000) {
            let block = Block::pack(&list, east).unwrap();
            prop_assert_eq!(block.unpack().unwrap(), list);
            let text = serde_json::to_string(&block).unwrap();
            prop_assert_eq!(&serde_json::from_str::<Block>(&text).unwrap(), &block);
            let digits = crate::photos::hex(&block.packed);
            prop_assert_eq!(Block::of_hex(east, &digits), Some(block));
        }

        #[test]
        fn one_changed_byte_is_found(list in readings(), at in any::<prop::sample::Index>(), by in 1u8..) {
            let mut block = Block::pack(&list, 3600).unwrap();
            let i = at.index(block.packed.len());
            block.packed[i] ^= by;
            prop_assert!(block.unpack().is_err());
        }

        #[test]
        fn any_bytes_are_refused_without_a_panic(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
            let sum = checksum(&bytes, 0);
            let mut packed = bytes;
            packed.extend(sum);
            // The checksum is right, so the words behind it are looked at.
            let block = Block { east: 0, packed };
            if let Ok(list) = block.unpack() {
                prop_assert!(!list.is_empty() && list.len() <= Block::MOST);
            }
        }
    }

    #[test]
    fn a_reading_every_ten_minutes_takes_a_few_bytes() {
        let list: Vec<AirReading> = (0..4096)
            .map(|i| AirReading {
                time: 1_700_000_000 + 600 * i,
                temperature: Some(21.0 + (i % 17) as f64 / 10.0),
                humidity: Some(60.0 + (i % 23) as f64 / 10.0),
                light: None,
            })
            .collect();
        let block = Block::pack(&list, 3600).unwrap();
        assert!(block.packed.len() < 7 * list.len(), "{} bytes", block.packed.len());
    }

    #[test]
    fn what_is_out_of_order_or_no_number_is_not_packed() {
        let one = AirReading { time: 5, temperature: Some(1.0), humidity: None, light: None };
        assert_eq!(Block::pack(&[one, one], 0), Err(BlockError::Order(5)));
        assert_eq!(Block::pack(&[], 0), Err(BlockError::Count(0)));
        let odd = AirReading { temperature: Some(f64::NAN), ..one };
        assert_eq!(Block::pack(&[odd], 0), Err(BlockError::Value(5)));
    }
}
