//! `GET /whatif`: what a change would break or repair; nothing is written.

use maud::{Markup, html};
use register::effect::Effect;
use register::fleet::Fleet;
use register::scene::Scene;

use crate::form::Typed;
use crate::sheet::WhatIfAnswer;
use crate::site::Site;

/// Two forms that ask by GET, and the answer to what was asked.
///
/// Form `change`: `device` (code, name or id), `part`, `field`, `value` (a secret can only be
/// `blank` or the code, name or id of a device that holds the same: a typed secret must not
/// stand in an address). Form `bought`: `sort`, `family`, `band`, `region`, `firmware`,
/// `model_id`, `secret` (as above), `aircraft`.
pub fn page(site: &Site, scene: &Scene, fleet: &Fleet, typed: &Typed, answer: Option<(&WhatIfAnswer, &Effect)>) -> Markup {
    site.page("What if", &html! {})
}

