//! The secret of the page's address: whoever has it works the deck.

use std::fmt;

use data_encoding::BASE64URL_NOPAD;
use subtle::ConstantTimeEq;

use crate::error::{Error, Result};

/// 128 bits.
const BYTES: usize = 16;

/// 128 bits from the system, as 22 characters of base64url (RFC 4648, section 5).
pub struct Secret(String);

impl Secret {
    /// A new one.
    ///
    /// # Errors
    /// When the system gives no random bits.
    pub fn new() -> Result<Self> {
        let mut bits = [0; BYTES];
        getrandom::fill(&mut bits)
            .map_err(|error| Error::failed(format!("no random bits for the page: {error}")))?;
        Ok(Self(BASE64URL_NOPAD.encode(&bits)))
    }

    /// For the address alone.
    pub fn text(&self) -> &str {
        &self.0
    }

    /// Whether this is it. How long the answer takes says nothing of how much of it was right.
    pub fn is(&self, tried: &str) -> bool {
        self.0.as_bytes().ct_eq(tried.as_bytes()).into()
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, to: &mut fmt::Formatter) -> fmt::Result {
        to.write_str("Secret")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_secret_is_22_characters_that_an_address_may_hold_and_never_the_same() {
        let secrets = [(); 50].map(|()| Secret::new().expect("random bits"));
        for secret in &secrets {
            assert_eq!(secret.text().len(), 22);
            let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
            assert!(secret.text().chars().all(plain), "{}", secret.text());
            assert_eq!(
                secrets.iter().filter(|one| one.is(secret.text())).count(),
                1
            );
        }
    }

    #[test]
    fn only_the_whole_secret_is_taken_and_it_is_never_printed() {
        let secret = Secret::new().expect("random bits");
        let text = secret.text();
        let other = if text.ends_with('A') { "B" } else { "A" };
        for wrong in [
            "",
            &text[..21],
            &format!("{text}A"),
            &format!("{}{other}", &text[..21]),
        ] {
            assert!(!secret.is(wrong), "{wrong}");
        }
        assert_eq!(format!("{secret:?}"), "Secret");
    }
}
