//! Tries at the door: after each wrong one, the next must wait longer.

use std::{
    collections::HashMap,
    net::IpAddr,
    time::{Duration, Instant},
};

/// The longest wait.
const LONGEST: Duration = Duration::from_secs(300);

/// After this long without a wrong try the count begins anew. At the longest wait twelve tries fit
/// into it, more than beginning anew gives, so that pausing gains nothing.
const FORGOTTEN: Duration = Duration::from_secs(3600);

/// Wrong tries from all addresses together that cost no wait: the slip of one hand must not keep
/// the others waiting.
const FREE_TOGETHER: u32 = 8;

/// The most addresses that are counted one by one; the count over all holds for any number.
const MOST_ADDRESSES: usize = 1000;

#[derive(Debug, Clone, Copy, Default)]
struct Tally {
    wrong: u32,
    last: Option<Instant>,
}

/// The wait after so many wrong tries: 1, 2, 4, 8 … s.
fn wait(wrong: u32) -> Duration {
    match wrong {
        0 => Duration::ZERO,
        n => Duration::from_secs(1 << (n - 1).min(20)).min(LONGEST),
    }
}

impl Tally {
    fn fresh(self, now: Instant) -> Self {
        match self.last {
            Some(last) if now.saturating_duration_since(last) < FORGOTTEN => self,
            _ => Self::default(),
        }
    }

    /// How long the next try must still wait.
    fn left(self, free: u32, now: Instant) -> Duration {
        self.last.map_or(Duration::ZERO, |last| {
            wait(self.wrong.saturating_sub(free))
                .saturating_sub(now.saturating_duration_since(last))
        })
    }

    fn count(self, now: Instant) -> Self {
        Self { wrong: self.wrong.saturating_add(1), last: Some(now) }
    }
}

/// Wrong tries by address and over all.
#[derive(Debug, Default)]
pub(crate) struct Tries {
    addresses: HashMap<IpAddr, Tally>,
    all: Tally,
}

impl Tries {
    /// Begins a try. It counts as wrong until [`Self::right`] says otherwise, so that many tries
    /// sent at once do not slip past the count.
    ///
    /// # Errors
    /// How long to wait still, if it is too early; such a try is not looked at and not counted.
    pub(crate) fn begin(&mut self, from: IpAddr, now: Instant) -> Result<Duration, Duration> {
        self.all = self.all.fresh(now);
        self.addresses.retain(|_, tally| tally.fresh(now).wrong > 0);
        let one = self.addresses.get(&from).copied().unwrap_or_default();
        let left = one.left(0, now).max(self.all.left(FREE_TOGETHER, now));
        if !left.is_zero() {
            return Err(left);
        }
        self.all = self.all.count(now);
        let one = one.count(now);
        if self.addresses.len() < MOST_ADDRESSES || self.addresses.contains_key(&from) {
            self.addresses.insert(from, one);
        }
        Ok(one.left(0, now).max(self.all.left(FREE_TOGETHER, now)))
    }

    /// The try from this address was right: it and what went before are forgotten.
    pub(crate) fn right(&mut self, from: IpAddr) {
        self.addresses.remove(&from);
        self.all = Tally::default();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn address(last: u8) -> IpAddr {
        IpAddr::from([192, 168, 1, last])
    }

    #[test]
    fn waits_double_up_to_five_minutes() {
        let mut tries = Tries::default();
        let mut now = Instant::now();
        for expected in [1, 2, 4, 8, 16, 32, 64, 128, 256, 300, 300, 300] {
            let told = tries.begin(address(2), now).unwrap();
            assert_eq!(told, Duration::from_secs(expected));
            let early = now + told - Duration::from_millis(1);
            assert_eq!(tries.begin(address(2), early), Err(Duration::from_millis(1)));
            now += told;
        }
    }

    #[test]
    fn an_address_does_not_wait_for_the_slips_of_another() {
        let mut tries = Tries::default();
        let now = Instant::now();
        assert!(tries.begin(address(2), now).is_ok());
        assert!(tries.begin(address(2), now).is_err());
        assert!(tries.begin(address(3), now).is_ok());
    }

    #[test]
    fn many_addresses_together_wait_all_the_same() {
        let mut tries = Tries::default();
        let now = Instant::now();
        for n in 0..9 {
            assert!(tries.begin(address(n), now).is_ok(), "{n}");
        }
        assert_eq!(tries.begin(address(200), now), Err(Duration::from_secs(1)));
        let told = tries.begin(address(200), now + Duration::from_secs(1)).unwrap();
        assert_eq!(told, Duration::from_secs(2));
    }

    #[test]
    fn the_right_passcode_ends_the_waiting() {
        let mut tries = Tries::default();
        let now = Instant::now();
        assert!(tries.begin(address(2), now).is_ok());
        tries.right(address(2));
        assert_eq!(tries.begin(address(2), now), Ok(Duration::from_secs(1)));
    }

    #[test]
    fn an_hour_without_a_wrong_try_begins_anew() {
        let mut tries = Tries::default();
        let mut now = Instant::now();
        for _ in 0..5 {
            now += tries.begin(address(2), now).unwrap();
        }
        now += FORGOTTEN;
        assert_eq!(tries.begin(address(2), now), Ok(Duration::from_secs(1)));
    }
}
