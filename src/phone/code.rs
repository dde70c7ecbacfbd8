//! The address as a code that a phone's camera reads (QR code, ISO/IEC 18004).

use qrcode::{Color, EcLevel, QrCode};

use crate::error::{Error, Result};

/// The light border that the standard asks for, modules.
const BORDER: usize = 4;

/// A text's code with its border, row by row; true is dark.
///
/// # Errors
/// When the text is too long for any code.
pub fn code(text: &str) -> Result<Vec<Vec<bool>>> {
    let code = QrCode::with_error_correction_level(text, EcLevel::L)
        .map_err(|error| Error::failed(format!("no code for {text}: {error}")))?;
    let (width, colours) = (code.width(), code.to_colors());
    let mut rows = vec![vec![false; width + 2 * BORDER]; width + 2 * BORDER];
    for (place, colour) in colours.into_iter().enumerate() {
        rows[BORDER + place / width][BORDER + place % width] = colour == Color::Dark;
    }
    Ok(rows)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By a reader of its own: the crate rqrr.
    fn read(rows: &[Vec<bool>]) -> String {
        let side = rows.len() * 4;
        let mut image =
            rqrr::PreparedImage::prepare_from_bitmap(side, side, |x, y| rows[y / 4][x / 4]);
        let grids = image.detect_grids();
        assert_eq!(grids.len(), 1);
        grids[0].decode().expect("it can be read").1
    }

    #[test]
    fn the_longest_addresses_are_read_back_and_fit_the_screen() {
        let secret = "AbCdEfGhIjKlMnOpQrSt_-";
        for host in [
            "127.0.0.1:80",
            "192.168.100.200:65535",
            "[fd00:1111:2222:3333:4444:5555:6666:7777]:65535",
        ] {
            let address = format!("http://{host}/{secret}");
            let rows = code(&address).expect("it is short enough");
            assert_eq!(read(&rows), address);
            // Two modules to a row of letters; a line for the address, and one above and below it.
            assert!(
                rows.len().div_ceil(2) <= 21 && address.len() <= 78,
                "{}",
                rows.len()
            );
        }
    }
}
