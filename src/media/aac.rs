//! What an AAC says of itself in its own header: whether its sound is of a kind that is decoded here.

/// Bits of an AAC's own header (ISO/IEC 14496-3, AudioSpecificConfig), from one of them on, and
/// where its rate ends; what is not there is 0.
fn aac_header(header: &[u8]) -> (impl Fn(u32, u32) -> u64, u32) {
    let mut bytes = [0; 8];
    let length = header.len().min(8);
    bytes[..length].copy_from_slice(&header[..length]);
    let bits = u64::from_be_bytes(bytes);
    let take = move |from: u32, count: u32| (bits << from) >> (64 - count);
    // An index of 15 is followed by the rate itself.
    let rate_end = if take(5, 4) == 15 { 33 } else { 9 };
    (take, rate_end)
}

/// Whether an AAC's own header names spectral band replication: what is decoded without it comes
/// at another rate and another time.
pub fn is_he_aac(header: &[u8]) -> bool {
    let (take, rate_end) = aac_header(header);
    let kind = take(0, 5);
    // After channels and three flags a newer header may add what an older reader passes over.
    let extension = rate_end + 4 + 3;
    let added = take(extension, 11) == 0x2b7 && take(extension + 11, 5) == 5;
    matches!(kind, 5 | 29) || (kind == 2 && added && take(extension + 16, 1) == 1)
}

/// Whether an AAC's own header names more than two channels: 1 and 2 are as many, 0 is told elsewhere.
pub fn has_more_channels(header: &[u8]) -> bool {
    let (take, rate_end) = aac_header(header);
    take(rate_end, 4) > 2
}

#[cfg(test)]
mod tests {
    use super::{has_more_channels, is_he_aac};

    #[test]
    fn he_aac_is_known_by_its_header() {
        // The fields of ISO/IEC 14496-3, 1.6.2.1: object type, rate, channels, flags.
        for (header, he) in [
            // LC 48 kHz, stereo; the same, with the word that there is no band replication.
            (&[0x11, 0x90][..], false),
            (&[0x11, 0x90, 0x56, 0xe5, 0x00], false),
            // The word that there is one; SBR and parametric stereo as object types of their own.
            (&[0x13, 0x10, 0x56, 0xe5, 0x98], true),
            (&[0x2b, 0x11, 0x88, 0x00], true),
            (&[0xeb, 0x09, 0x88, 0x00], true),
            (&[], false),
        ] {
            assert_eq!(is_he_aac(header), he, "{header:x?}");
        }
    }

    #[test]
    fn more_channels_of_aac_are_known_by_its_header() {
        // The fields of ISO/IEC 14496-3, 1.6.2.1: LC at 48 kHz with channel configurations 1, 2, 0, 6
        // (5.1) and 7; LC with its rate written out (22050 Hz), 2 and 6.
        for (header, more) in [
            (&[0x11, 0x88][..], false),
            (&[0x11, 0x90], false),
            (&[0x11, 0x80], false),
            (&[0x11, 0xb0], true),
            (&[0x11, 0xb8], true),
            (&[0x17, 0x80, 0x2b, 0x11, 0x10], false),
            (&[0x17, 0x80, 0x2b, 0x11, 0x30], true),
            (&[], false),
        ] {
            assert_eq!(has_more_channels(header), more, "{header:x?}");
        }
    }
}
