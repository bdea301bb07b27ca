//! What a receiver's lamp shows, and what that means.

/// What a lamp shows in one state.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lamp {
    /// The state, in the author's words.
    pub state: String,
    /// The pattern, in the author's words.
    pub shows: String,
    /// What the state means to the program, which can't read the author's words; `None`
    /// where the author doesn't say.
    pub means: Option<LampState>,
}

/// What a lamp's pattern says about the receiver.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LampState {
    /// It has no supply, or shows nothing at all.
    Off,
    /// It is on but hears nothing.
    Waiting,
    /// It is in pair mode.
    Pairing,
    /// Its settings page is open.
    Settings,
    /// It is linked.
    Linked,
    /// It hears a transmitter but refuses it.
    Refused,
    /// Its firmware is being written, or it waits for that.
    Update,
    /// Something else.
    Other,
}

impl LampState {
    /// Every one.
    pub const ALL: [LampState; 8] = [
        LampState::Off,
        LampState::Waiting,
        LampState::Pairing,
        LampState::Settings,
        LampState::Linked,
        LampState::Refused,
        LampState::Update,
        LampState::Other,
    ];

    /// The word in files, JSON and on the command line.
    pub fn word(self) -> &'static str {
        match self {
            LampState::Off => "off",
            LampState::Waiting => "waiting",
            LampState::Pairing => "pairing",
            LampState::Settings => "settings",
            LampState::Linked => "linked",
            LampState::Refused => "refused",
            LampState::Update => "update",
            LampState::Other => "other",
        }
    }

    /// The one with this word.
    pub fn from_word(word: &str) -> Option<LampState> {
        LampState::ALL.into_iter().find(|one| one.word() == word)
    }

    /// As pages say it, about the receiver.
    pub fn label(self) -> &'static str {
        match self {
            LampState::Off => "off",
            LampState::Waiting => "on, but hears nothing",
            LampState::Pairing => "in pair mode",
            LampState::Settings => "its settings page is open",
            LampState::Linked => "linked",
            LampState::Refused => "hears a transmitter, but refuses it",
            LampState::Update => "firmware is being written, or it waits for it",
            LampState::Other => "something else",
        }
    }
}
