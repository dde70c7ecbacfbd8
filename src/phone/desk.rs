//! What phones say, done on the deck: each moment in its own time, each thing once.

use std::collections::BTreeMap;
use std::time::Instant;

use super::clock::{Exchange, PhoneClock, Placed};
use super::heard::HeardFrames;
use super::link::FromPhone;
use super::message::{Message, PhoneWish, What};
use super::once::{Once, Turn};
use super::post::{Late, Own};
use super::server::Server;
use super::state::Shown;
use crate::live::{Group, KeyTime};
use crate::model::kick::Pairing;
use crate::tui::{App, Ask, Away, Face, Seen};

/// A wish that is older as it comes is not done: it was of another moment, ms.
const OLDEST_MS: f64 = 1_500.0;
/// Openings of a phone's page whose clocks are kept.
const MOST_LOADS: usize = 4;

/// One phone, as the deck knows it.
#[derive(Debug, Default)]
struct Phone {
    /// By the order of coming, from 1.
    number: u32,
    once: Once,
    /// Each opening of the page with its clock, the last one at the end.
    clocks: Vec<(u32, PhoneClock)>,
    /// Of the last opening.
    late: Option<Late>,
}

impl Phone {
    fn clock(&mut self, load: u32) -> &mut PhoneClock {
        let at = self.clocks.iter().position(|(known, _)| *known == load);
        let at = at.unwrap_or_else(|| {
            if self.clocks.len() == MOST_LOADS {
                self.clocks.remove(0);
            }
            self.clocks.push((load, PhoneClock::default()));
            self.clocks.len() - 1
        });
        &mut self.clocks[at].1
    }

    /// Takes what the phone had kept until it came at a time, ms.
    fn keep(&mut self, number: u64, load: u32, what: What, came_ms: f64) -> Option<Asking> {
        if self.once.take(number) != Turn::Taken {
            return None;
        }
        let clock = self.clocks.iter().find(|(known, _)| *known == load);
        let placed = what.at_ms().and_then(|at_ms| clock?.1.place(at_ms));
        // A clock that nothing is known of says no more than when its message came; and no message
        // comes before its moment.
        let at_ms = placed.map_or(came_ms, |placed| placed.at_ms.clamp(0.0, came_ms));
        let ask = match what {
            What::In { .. } => Ask::In,
            What::Split { .. } => Ask::Split,
            What::Tap { .. } => Ask::Tap,
            What::Result {
                swim,
                swimmer,
                strokes,
                kept,
                effort,
            } => Ask::Seen(Seen {
                swim,
                swimmer,
                strokes,
                kept,
                effort,
            }),
        };
        let by = self.number;
        Some(Asking { by, ask, at_ms })
    }
}

/// What a phone asks for, and when that was.
#[derive(Debug, Clone, PartialEq)]
pub struct Asking {
    /// Which phone, by the order of coming.
    by: u32,
    ask: Ask,
    /// On the server's clock, ms.
    at_ms: f64,
}

/// Every phone that has come.
#[derive(Debug, Default)]
pub struct Phones(BTreeMap<String, Phone>);

impl Phones {
    /// Takes a message that came at a time, ms; gives what it asks for.
    pub fn take(&mut self, phone: &str, message: Message, came_ms: f64) -> Option<Asking> {
        let number = self.0.len() as u32 + 1;
        let phone = self.0.entry(phone.to_string()).or_insert_with(|| Phone {
            number,
            ..Phone::default()
        });
        let by = phone.number;
        match message {
            Message::Hello { load, .. } => {
                if phone.clocks.last().is_none_or(|(known, _)| *known != load) {
                    // A page that was opened anew has wished for nothing yet.
                    phone.late = None;
                }
                phone.clock(load);
                None
            }
            Message::Clock {
                asked_ms,
                got_ms,
                answered_ms,
            } => {
                let (_, clock) = phone.clocks.last_mut()?;
                clock.take(Exchange {
                    asked_ms,
                    got_ms,
                    answered_ms,
                    came_ms,
                });
                None
            }
            Message::Wish { wish, at_ms } => {
                let clock = phone.clocks.last();
                let placed = clock.and_then(|(_, clock)| clock.place(at_ms));
                // Without a clock that is known it may be of any age.
                let is_fresh =
                    |placed: Placed| came_ms - placed.at_ms + placed.within_ms <= OLDEST_MS;
                if placed.is_some_and(is_fresh) {
                    return Some(Asking {
                        by,
                        ask: ask_of(wish),
                        at_ms: came_ms,
                    });
                }
                let count = phone.late.map_or(0, |late| late.count) + 1;
                phone.late = Some(Late { count, wish });
                None
            }
            Message::Keep { number, load, what } => phone.keep(number, load, what, came_ms),
        }
    }

    /// What a phone alone has to know at present.
    pub fn own(&self, phone: &str, now_ms: f64) -> Own {
        let Some(phone) = self.0.get(phone) else {
            return Own::default();
        };
        let now = (phone.clocks.last()).and_then(|(_, clock)| clock.known_at(now_ms));
        Own {
            taken: phone.once.last(),
            // To whole milliseconds: more is not read, and would be told anew all the time.
            within_ms: now.map(|placed| placed.within_ms.ceil()),
            is_sure: now.is_some_and(Placed::is_vouched_for),
            late: phone.late,
        }
    }
}

fn ask_of(wish: PhoneWish) -> Ask {
    match wish {
        PhoneWish::Faster => Ask::Step(1.0),
        PhoneWish::Slower => Ask::Step(-1.0),
        PhoneWish::TakeRate => Ask::TakeRate,
        PhoneWish::SameSide => Ask::Pair(Pairing::SameSide),
        PhoneWish::OppositeSide => Ask::Pair(Pairing::OppositeSide),
        PhoneWish::HandsSilent => Ask::Mute(Group::Hands, true),
        PhoneWish::HandsHeard => Ask::Mute(Group::Hands, false),
        PhoneWish::FeetSilent => Ask::Mute(Group::Feet, true),
        PhoneWish::FeetHeard => Ask::Mute(Group::Feet, false),
        PhoneWish::Silence => Ask::Run(false),
        PhoneWish::GoOn => Ask::Run(true),
        PhoneWish::Next => Ask::Next,
        PhoneWish::Again => Ask::Again,
        PhoneWish::TakeBack => Ask::TakeBack,
    }
}

/// The deck's side of the server.
pub struct Desk {
    server: Server,
    phones: Phones,
    heard: HeardFrames,
    shown: Option<Shown>,
}

impl Desk {
    /// Of a server, with a deck of so many frames a second.
    pub fn new(server: Server, rate_hz: f64) -> Self {
        Self {
            server,
            phones: Phones::default(),
            heard: HeardFrames::new(rate_hz),
            shown: None,
        }
    }
}

impl Away for Desk {
    fn work(&mut self, app: &mut App, now: Instant, at: KeyTime) {
        self.heard.take(at);
        let now_ms = self.server.ms(now);
        while let Some(FromPhone {
            phone,
            at: came,
            message,
        }) = self.server.take()
        {
            let came_ms = self.server.ms(came);
            if let Some(asked) = self.phones.take(&phone, message, came_ms) {
                let now_s = at.now_s - (now_ms - asked.at_ms) / 1e3;
                app.ask(&asked.ask, asked.by, self.heard.at(now_s));
            }
        }
        for phone in self.phones.0.keys() {
            self.server.tell(phone, self.phones.own(phone, now_ms));
        }
    }

    fn show(&mut self, app: &App, face: &Face) {
        let shown = Shown::new(face, &app.standing());
        if self.shown.as_ref() == Some(&shown) {
            return;
        }
        // Every field is a text, a number or a list of them.
        let json = serde_json::to_string(&shown).expect("plain data");
        self.server.show(json);
        self.shown = Some(shown);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PHONE: &str = "a";

    /// A phone whose clock is 5 s behind the program's, 20 ms away.
    fn known(phones: &mut Phones, load: u32) {
        let phone = PHONE.to_string();
        phones.take(PHONE, Message::Hello { phone, load }, 10_000.0);
        for n in 0..20 {
            let asked_ms = 10_000.0 + f64::from(n) * 500.0;
            let got_ms = asked_ms + 20.0 - 5_000.0;
            let clock = Message::Clock {
                asked_ms,
                got_ms,
                answered_ms: got_ms + 1.0,
            };
            phones.take(PHONE, clock, asked_ms + 41.0);
        }
    }

    fn keep(number: u64, load: u32, what: What) -> Message {
        Message::Keep { number, load, what }
    }

    #[test]
    fn a_moment_keeps_its_time_however_late_it_comes_and_is_taken_once() {
        let mut phones = Phones::default();
        known(&mut phones, 7);
        let what = What::In { at_ms: 15_000.0 };
        let asked = phones
            .take(PHONE, keep(1, 7, what.clone()), 60_000.0)
            .expect("taken");
        assert_eq!((asked.by, &asked.ask), (1, &Ask::In));
        assert!((asked.at_ms - 20_000.0).abs() < 0.01, "{}", asked.at_ms);
        assert_eq!(phones.take(PHONE, keep(1, 7, what.clone()), 60_100.0), None);
        assert_eq!(phones.take(PHONE, keep(3, 7, what), 60_200.0), None);
        assert_eq!(phones.own(PHONE, 60_200.0).taken, 1);
    }

    #[test]
    fn a_page_that_was_opened_anew_still_has_the_clock_of_before_for_what_it_had_kept() {
        let mut phones = Phones::default();
        known(&mut phones, 7);
        let hello = Message::Hello {
            phone: PHONE.into(),
            load: 8,
        };
        phones.take(PHONE, hello, 30_000.0);
        let own = phones.own(PHONE, 30_000.0);
        assert_eq!(
            own.within_ms, None,
            "of the new page's clock nothing is known yet"
        );
        let asked = phones.take(PHONE, keep(1, 7, What::Tap { at_ms: 15_000.0 }), 30_100.0);
        assert!((asked.expect("taken").at_ms - 20_000.0).abs() < 0.01);
        // What nothing is known of is as old as its message.
        let asked = phones.take(PHONE, keep(2, 9, What::Tap { at_ms: 1.0 }), 30_200.0);
        assert_eq!(asked.expect("taken").at_ms, 30_200.0);
        // And nothing comes before it was.
        let asked = phones.take(PHONE, keep(3, 7, What::Tap { at_ms: 1e6 }), 30_300.0);
        assert_eq!(asked.expect("taken").at_ms, 30_300.0);
    }

    #[test]
    fn phones_are_told_apart() {
        let mut phones = Phones::default();
        let by = ["a", "b", "a"].map(|phone| {
            let number = u64::from(phones.0.contains_key(phone)) + 1;
            let tap = keep(number, 7, What::Tap { at_ms: 1.0 });
            phones.take(phone, tap, 1.0).expect("asks").by
        });
        assert_eq!(by, [1, 2, 1]);
    }

    #[test]
    fn a_wish_that_the_link_held_back_is_not_done_and_its_phone_hears_so() {
        let mut phones = Phones::default();
        known(&mut phones, 7);
        let (wish, at_ms) = (PhoneWish::Next, 15_000.0);
        let wished = Message::Wish { wish, at_ms };
        let asked = phones.take(PHONE, wished.clone(), 20_300.0).expect("done");
        assert_eq!((asked.ask, asked.at_ms), (Ask::Next, 20_300.0));
        assert_eq!(phones.own(PHONE, 20_300.0).late, None);
        for count in 1..=2 {
            assert_eq!(phones.take(PHONE, wished.clone(), 22_000.0), None);
            assert_eq!(phones.own(PHONE, 22_000.0).late, Some(Late { count, wish }));
        }
        let told = &phones.own(PHONE, 22_000.0).json()["late"];
        let said = "next came too late, and was not done.";
        assert_eq!(*told, serde_json::json!({ "count": 2, "said": said }));
        assert_eq!(phones.own("another", 22_000.0).late, None);
        // Over another connection the page still has to hear it; one opened anew has not wished yet.
        for (load, is_told) in [(7, true), (8, false)] {
            let phone = PHONE.to_string();
            phones.take(PHONE, Message::Hello { phone, load }, 23_000.0);
            assert_eq!(phones.own(PHONE, 23_000.0).late.is_some(), is_told);
        }
    }

    #[test]
    fn a_wish_of_which_nobody_knows_how_late_it_comes_is_not_done() {
        let mut phones = Phones::default();
        let phone = PHONE.to_string();
        phones.take(PHONE, Message::Hello { phone, load: 7 }, 10_000.0);
        for (count, wish) in [(1, PhoneWish::Faster), (2, PhoneWish::Silence)] {
            let wished = Message::Wish { wish, at_ms: 5.0 };
            assert_eq!(phones.take(PHONE, wished, 10_010.0), None);
            assert_eq!(phones.own(PHONE, 10_010.0).late, Some(Late { count, wish }));
        }
        known(&mut phones, 7);
        let (wish, at_ms) = (PhoneWish::Faster, 15_000.0);
        let wished = Message::Wish { wish, at_ms };
        assert!(phones.take(PHONE, wished, 20_300.0).is_some());
    }
}
