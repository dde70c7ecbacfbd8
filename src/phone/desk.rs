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
/// Openings of a phone's page that are known.
const MOST_LOADS: usize = 16;
/// How finely it is told for how long a clock may be vouched for, s: finer would be told anew all the time.
const SURE_STEP_S: u32 = 5;

/// One phone, as the deck knows it.
#[derive(Debug, Default)]
struct Phone {
    /// By the order of coming, from 1.
    number: u32,
    /// Each opening of its page, the present one at the end.
    loads: Vec<Load>,
    /// Of which of them something was heard last.
    heard: u32,
}

/// One opening of a page.
#[derive(Debug, Default)]
struct Load {
    id: u32,
    clock: PhoneClock,
    once: Once,
    /// The last wish of it that was not done.
    late: Option<Late>,
}

impl Phone {
    /// The page is opened, or comes again.
    fn opened(&mut self, id: u32) {
        let at = self.place_of(id);
        let load = self.loads.remove(at);
        self.loads.push(load);
        self.heard = id;
    }

    /// Where an opening of the page stands. One that is not known yet makes room, and is no present one.
    fn place_of(&mut self, id: u32) -> usize {
        let known = self.loads.iter().position(|load| load.id == id);
        known.unwrap_or_else(|| {
            if self.loads.len() == MOST_LOADS {
                self.loads.remove(0);
            }
            let load = Load {
                id,
                ..Load::default()
            };
            self.loads.insert(0, load);
            0
        })
    }

    /// The clock of the present opening.
    fn clock(&self) -> Option<&PhoneClock> {
        self.loads.last().map(|load| &load.clock)
    }

    /// Takes what the phone had kept until it came at a time, ms.
    fn keep(&mut self, number: u64, load: u32, what: What, came_ms: f64) -> Option<Asking> {
        self.heard = load;
        let at = self.place_of(load);
        let load = &mut self.loads[at];
        if load.once.take(number) != Turn::Taken {
            return None;
        }
        let placed = what.at_ms().and_then(|at_ms| load.clock.place(at_ms));
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
                phone.opened(load);
                None
            }
            Message::Clock {
                asked_ms,
                got_ms,
                answered_ms,
            } => {
                phone.loads.last_mut()?.clock.take(Exchange {
                    asked_ms,
                    got_ms,
                    answered_ms,
                    came_ms,
                });
                None
            }
            Message::Wish { wish, at_ms } => {
                let load = phone.loads.last_mut()?;
                let placed = load.clock.place(at_ms);
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
                let count = load.late.map_or(0, |late| late.count) + 1;
                load.late = Some(Late { count, wish });
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
        let now = phone.clock().and_then(|clock| clock.known_at(now_ms));
        let sure_for_ms = phone.clock().map_or(0.0, |clock| clock.sure_for_ms(now_ms));
        let heard = phone.loads.iter().find(|load| load.id == phone.heard);
        Own {
            load: phone.heard,
            taken: heard.map_or(0, |load| load.once.last()),
            // To whole milliseconds: more is not read, and would be told anew all the time.
            within_ms: now.map(|placed| placed.within_ms.ceil()),
            is_sure: now.is_some_and(Placed::is_vouched_for),
            sure_for_s: (sure_for_ms / 1e3) as u32 / SURE_STEP_S * SURE_STEP_S,
            late: phone.loads.last().and_then(|load| load.late),
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
        let asked = phones.take(PHONE, keep(1, 9, What::Tap { at_ms: 1.0 }), 30_200.0);
        assert_eq!(asked.expect("taken").at_ms, 30_200.0);
        // And nothing comes before it was.
        let asked = phones.take(PHONE, keep(2, 7, What::Tap { at_ms: 1e6 }), 30_300.0);
        assert_eq!(asked.expect("taken").at_ms, 30_300.0);
    }

    #[test]
    fn a_copied_tab_and_the_one_it_was_copied_from_lose_nothing_and_each_has_its_clock() {
        let mut phones = Phones::default();
        known(&mut phones, 7);
        let tap = |at_ms| What::Tap { at_ms };
        let mut takes = |load, number, at_ms| {
            let took = phones.take(PHONE, keep(number, load, tap(at_ms)), 40_000.0);
            (took.map(|asked| asked.at_ms), phones.own(PHONE, 40_000.0))
        };
        // What stood in the copied store too is taken once; what each keeps from then on is its own.
        assert!(takes(7, 1, 15_000.0).0.is_some());
        assert!(takes(8, 1, 100.0).0.is_some());
        assert!(takes(7, 1, 15_000.0).0.is_none());
        let (second, own) = takes(7, 2, 16_000.0);
        assert!((second.expect("taken") - 21_000.0).abs() < 0.01);
        assert_eq!((own.load, own.taken), (7, 2));
        let (_, own) = takes(8, 3, 300.0);
        assert_eq!((own.load, own.taken), (8, 1), "one is left out");
        // The tab that was copied comes again: its clock is the one that is asked about.
        for load in [8, 7] {
            let phone = PHONE.to_string();
            phones.take(PHONE, Message::Hello { phone, load }, 41_000.0);
            let own = phones.own(PHONE, 41_000.0);
            assert_eq!((own.load, own.within_ms.is_some()), (load, load == 7));
        }
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
