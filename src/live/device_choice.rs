//! Which of the forms that a device offers is taken.

use std::ops::RangeInclusive;

/// How a device takes samples.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SampleType {
    /// 32-bit float.
    Float,
    /// 16 bits.
    Sixteen,
    /// 32 bits.
    ThirtyTwo,
}

/// What a device offers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offer {
    /// Channels, at least one.
    pub channels: u16,
    /// Frames a second, from the least to the most.
    pub rates_hz: RangeInclusive<u32>,
    /// Its samples.
    pub form: SampleType,
}

/// What is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Choice {
    /// Channels.
    pub channels: u16,
    /// Frames a second.
    pub rate_hz: u32,
    /// Samples.
    pub form: SampleType,
}

/// The rates at which voices are rendered.
const RATES_HZ: RangeInclusive<u32> = 8_000..=192_000;
/// Tracks are exported at these; a device that has one plays the same samples.
const USUAL_HZ: [u32; 2] = [44_100, 48_000];

/// The best of what is offered; with a rate wanted, that rate where it is offered at all.
/// Two channels before more, more before one; float before bits; the rate of a track first.
pub fn choose(offers: &[Offer], rate_hz: Option<u32>) -> Option<Choice> {
    let choice = |offer: &Offer| {
        let wanted = rate_hz.into_iter().chain(USUAL_HZ);
        let rate_hz = wanted
            .into_iter()
            .find(|rate| offer.rates_hz.contains(rate));
        // Else the rate of the device that is nearest to a track's.
        let nearest = USUAL_HZ[1].clamp(*offer.rates_hz.start(), *offer.rates_hz.end());
        Some(Choice {
            channels: offer.channels,
            rate_hz: rate_hz.or_else(|| RATES_HZ.contains(&nearest).then_some(nearest))?,
            form: offer.form,
        })
    };
    let rank = |choice: &Choice| {
        let rate = match choice.rate_hz {
            rate if Some(rate) == rate_hz => 0,
            rate if rate == USUAL_HZ[0] => 1,
            rate if rate == USUAL_HZ[1] => 2,
            _ => 3,
        };
        let channels = match choice.channels {
            2 => 0,
            1 => 2,
            _ => 1,
        };
        let form = match choice.form {
            SampleType::Float => 0,
            SampleType::ThirtyTwo => 1,
            SampleType::Sixteen => 2,
        };
        (rate, channels, form, choice.channels)
    };
    offers
        .iter()
        .filter(|offer| offer.channels > 0 && offer.rates_hz.start() <= offer.rates_hz.end())
        .filter_map(choice)
        .min_by_key(rank)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn offer(channels: u16, rates_hz: RangeInclusive<u32>, form: SampleType) -> Offer {
        Offer {
            channels,
            rates_hz,
            form,
        }
    }

    #[test]
    fn the_rate_of_a_track_is_taken_where_it_is_offered() {
        let both = [
            offer(2, 48_000..=48_000, SampleType::Float),
            offer(2, 8_000..=192_000, SampleType::Sixteen),
            offer(6, 44_100..=44_100, SampleType::Float),
        ];
        let found = choose(&both, None).expect("an offer");
        assert_eq!(
            (found.rate_hz, found.channels, found.form),
            (44_100, 2, SampleType::Sixteen)
        );
        let at_48 = choose(&both, Some(48_000)).expect("an offer");
        assert_eq!((at_48.rate_hz, at_48.form), (48_000, SampleType::Float));
    }

    #[test]
    fn odd_devices_play_too() {
        for (rate, channels) in [(8_000, 1), (192_000, 2), (96_000, 1), (11_025, 8)] {
            let only = [offer(channels, rate..=rate, SampleType::Sixteen)];
            let found = choose(&only, None).expect("an offer");
            assert_eq!((found.rate_hz, found.channels), (rate, channels));
        }
        assert_eq!(choose(&[], None), None);
        assert_eq!(
            choose(&[offer(2, 4_000..=6_000, SampleType::Float)], None),
            None
        );
    }
}
