//! What an animal carries: share of its body mass, thread for a share, days.
//!
//! In: rows of animals and the limits of the settings. Out: shares, metres and days. The limits are
//! parameters: a percentage alone is a poor rule ([`Source::Casper2009`]), climbing lizards were
//! slowed at 10 % ([`Source::Knapp2009`]), and permit, ethics committee and vet decide.
//!
//! [`Source::Casper2009`]: crate::sources::Source::Casper2009
//! [`Source::Knapp2009`]: crate::sources::Source::Knapp2009

use crate::survey::rows::AnimalRow;

/// Device mass over body mass; `None` where either is not known or the body mass is zero.
pub fn device_share(animal: &AnimalRow) -> Option<f64> {
    let (device, body) = (animal.device_mass_g?, animal.body_mass_g?);
    (body > 0.0).then(|| device / body)
}

/// Days from fixing the device on to taking it off.
pub fn days_carried(animal: &AnimalRow) -> Option<f64> {
    let (on, off) = (animal.attached?, animal.removed?);
    Some(off.duration_since(on).as_secs_f64() / 86_400.0)
}
