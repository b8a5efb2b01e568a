//! How many requests one sender may send: by key, else by address.

use std::{
    net::{IpAddr, Ipv6Addr},
    num::NonZeroU32,
    sync::atomic::{AtomicU32, Ordering},
    time::Duration,
};

use governor::{
    DefaultKeyedRateLimiter, Quota, RateLimiter,
    clock::{Clock as _, DefaultClock},
};

/// Requests after which senders that have long been silent are forgotten.
const SWEEP: u32 = 4_096;

/// Who sends.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) enum Sender {
    /// The holder of a key, by its id.
    Key(String),
    /// Somebody at an address; of IPv6, at a network of 64 bits, which one household has whole.
    Address(IpAddr),
}

impl Sender {
    pub(super) fn at(address: IpAddr) -> Self {
        Self::Address(match address.to_canonical() {
            IpAddr::V6(address) => {
                let network = u128::from(address) >> 64 << 64;
                IpAddr::V6(Ipv6Addr::from(network))
            }
            address @ IpAddr::V4(_) => address,
        })
    }
}

/// The limit, and how much of it each sender has used.
#[derive(Debug)]
pub(super) struct Rate {
    limiter: DefaultKeyedRateLimiter<Sender>,
    clock: DefaultClock,
    asked: AtomicU32,
}

impl Rate {
    /// * `per_s`: requests a second, 0 for no limit; `burst`: how many may come at once.
    pub(super) fn of(per_s: u32, burst: u32) -> Option<Self> {
        let quota = Quota::per_second(NonZeroU32::new(per_s)?);
        let quota = quota.allow_burst(NonZeroU32::new(burst).unwrap_or(NonZeroU32::MIN));
        let limiter = RateLimiter::keyed(quota);
        Some(Self { limiter, clock: DefaultClock::default(), asked: AtomicU32::new(0) })
    }

    /// Takes one request.
    ///
    /// * Errors: how long the sender has to wait.
    pub(super) fn take(&self, sender: &Sender) -> Result<(), Duration> {
        if self.asked.fetch_add(1, Ordering::Relaxed) % SWEEP == SWEEP - 1 {
            self.limiter.retain_recent();
        }
        let taken = self.limiter.check_key(sender);
        taken.map_err(|not_until| not_until.wait_time_from(self.clock.now()))
    }
}

#[cfg(test)]
mod tests {
    use super::{Rate, Sender};

    #[test]
    fn each_sender_has_a_limit_of_its_own() {
        let rate = Rate::of(1, 2).expect("a limit");
        let [one, other] = ["192.0.2.1", "192.0.2.2"].map(|text| Sender::at(text.parse().unwrap()));
        assert!(rate.take(&one).is_ok() && rate.take(&one).is_ok());
        let wait = rate.take(&one).expect_err("the burst is used up");
        assert!(wait.as_secs_f64() <= 1.0 && !wait.is_zero(), "{wait:?}");
        assert!(rate.take(&other).is_ok());
        assert!(rate.take(&Sender::Key("till".to_owned())).is_ok());
        assert!(Rate::of(0, 5).is_none(), "0 is no limit");
    }

    #[test]
    fn an_ipv4_address_is_itself_however_it_is_written_and_ipv6_counts_by_network() {
        let at = |text: &str| Sender::at(text.parse().unwrap());
        assert_eq!(at("::ffff:192.0.2.1"), at("192.0.2.1"));
        assert_eq!(at("2001:db8::1"), at("2001:db8::ffff:1"));
        assert_ne!(at("2001:db8::1"), at("2001:db8:0:1::1"));
    }
}
