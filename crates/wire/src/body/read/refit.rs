//! Bodies of refits.

use std::borrow::Cow;

use register::entry::Body;
use register::id::{DeviceId, EntryId};
use register::refit::{Begun, EndWork, Ending, Event, Kept, Placed, Reach, Wish};
use serde::Deserialize;
use serde_json::value::RawValue;

use super::trail::minutes;
use super::{End, Mark, Word, json};

/// `{"name": …}`: a refit began. One that holds a wish which this program doesn't know is
/// nothing: with a wish left out it would be another refit.
pub(super) fn begun(text: &str) -> Option<Body> {
    let BegunText { name, links, wishes, placed } = json(text)?;
    let kept = |KeptText { transmitter, aircraft }| Kept { transmitter: transmitter.0, aircraft: aircraft.0 };
    Some(Body::RefitBegun(Begun {
        name,
        wishes: all_wishes(wishes)?,
        links: links.into_iter().map(kept).collect(),
        placed: all_placed(placed),
    }))
}

/// `{"refit": …, "did": …}`: something was done. A deed that this program doesn't know, or
/// one that lacks a part, is nothing.
pub(super) fn event(text: &str) -> Option<Body> {
    let text: EventText = json(text)?;
    let event = match text.did.as_ref() {
        "ticked" => Event::Ticked { step: text.step?, text: text.text?, evening: text.evening? },
        "deferred" => Event::Deferred { what: text.what?.0, until: text.until? },
        "planned" => Event::Planned { wishes: all_wishes(text.wishes?)?, placed: all_placed(text.placed?) },
        "ended" => Event::Ended { how: Ending::from_word(text.how.as_deref()?)? },
        _ => return None,
    };
    Some(Body::RefitEvent { refit: text.refit.0, event })
}

#[derive(Deserialize)]
struct BegunText<'a> {
    name: String,
    links: Vec<KeptText>,
    #[serde(borrow)]
    wishes: Vec<WishText<'a>>,
    placed: Vec<PlacedText>,
}

#[derive(Deserialize)]
struct KeptText {
    transmitter: Word<DeviceId>,
    aircraft: Word<DeviceId>,
}

/// The parts of every deed; each has its own of them.
#[derive(Deserialize)]
struct EventText<'a> {
    refit: Word<EntryId>,
    #[serde(borrow)]
    did: Cow<'a, str>,
    step: Option<String>,
    text: Option<String>,
    evening: Option<u32>,
    what: Option<Word<DeviceId>>,
    until: Option<u32>,
    #[serde(borrow)]
    wishes: Option<Vec<WishText<'a>>>,
    placed: Option<Vec<PlacedText>>,
    #[serde(borrow)]
    how: Option<Cow<'a, str>>,
}

/// The parts of every wish; each has its own of them.
#[derive(Deserialize)]
struct WishText<'a> {
    #[serde(borrow)]
    wish: Cow<'a, str>,
    end: Option<End>,
    version: Option<String>,
    family: Option<String>,
    ends: Option<Vec<End>>,
    secret: Option<Mark>,
    aircraft: Option<Word<DeviceId>>,
    transmitters: Option<Vec<Word<DeviceId>>>,
    transmitter: Option<Word<DeviceId>>,
    device: Option<Word<DeviceId>>,
    receiver: Option<Word<DeviceId>>,
    by: Option<Word<DeviceId>>,
    cost: Option<u32>,
    #[serde(borrow)]
    each: Option<Vec<&'a RawValue>>,
    after: Option<u32>,
    most: Option<u32>,
    #[serde(borrow)]
    minutes: Option<&'a RawValue>,
}

impl WishText<'_> {
    fn wish(self) -> Option<Wish> {
        Some(match self.wish.as_ref() {
            "version" => Wish::Version { end: self.end?.0, version: self.version? },
            "newest" => Wish::Newest { family: self.family? },
            "secret" => Wish::Secret {
                on: match (self.family, self.ends) {
                    (Some(family), None) => Reach::Family(family),
                    (None, Some(ends)) => Reach::Ends(ends.into_iter().map(|end| end.0).collect()),
                    _ => return None,
                },
                mark: self.secret?.0?,
            },
            "all-pair" => Wish::AllPair,
            "need" => Wish::Need { aircraft: self.aircraft?.0, transmitters: ids(self.transmitters?) },
            "let-go" => {
                Wish::LetGo { aircraft: self.aircraft?.0, transmitter: self.transmitter.map(|id| id.0) }
            }
            "stay" => Wish::Stay { device: self.device?.0 },
            "replace" => {
                Wish::Replace { receiver: self.receiver?.0, by: self.by.map(|id| id.0), cost: self.cost? }
            }
            "evenings" => {
                Wish::Evenings { minutes: self.each?.into_iter().map(minutes).collect::<Option<_>>()? }
            }
            "fly" => Wish::Fly { aircraft: self.aircraft?.0, after: self.after? },
            "grounded" => Wish::Grounded { most: self.most? },
            "cover" => Wish::Cover { aircraft: self.aircraft?.0, minutes: minutes(self.minutes?)? },
            _ => return None,
        })
    }
}

#[derive(Deserialize)]
struct PlacedText {
    what: Word<DeviceId>,
    evening: u32,
    #[serde(default)]
    ends: Vec<EndWorkText>,
    #[serde(default)]
    replaced: Vec<Word<DeviceId>>,
}

#[derive(Deserialize)]
struct EndWorkText {
    end: End,
    version: String,
    #[serde(default)]
    route: String,
}

fn all_wishes(wishes: Vec<WishText>) -> Option<Vec<Wish>> {
    wishes.into_iter().map(WishText::wish).collect()
}

fn all_placed(placed: Vec<PlacedText>) -> Vec<Placed> {
    let work = |EndWorkText { end, version, route }| EndWork { end: end.0, version, route };
    let one = |PlacedText { what, evening, ends, replaced }| Placed {
        what: what.0,
        evening,
        ends: ends.into_iter().map(work).collect(),
        replaced: ids(replaced),
    };
    placed.into_iter().map(one).collect()
}

fn ids(words: Vec<Word<DeviceId>>) -> Vec<DeviceId> {
    words.into_iter().map(|id| id.0).collect()
}
