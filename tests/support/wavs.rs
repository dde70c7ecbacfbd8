//! Small WAV files of every form that is read, built by hand from the chunks of RIFF
//! (from memory, standard) and of WAVE_FORMAT_EXTENSIBLE (its documentation, from memory), and ways
//! to spoil them.

use fastrand::Rng;

/// Bits, and whether samples are floats.
const FORMS: [(u16, bool); 5] = [
    (8, false),
    (16, false),
    (24, false),
    (32, false),
    (32, true),
];

/// Values at which fields overflow.
const FIELDS: [u32; 16] = [
    0,
    1,
    2,
    3,
    7,
    16,
    24,
    40,
    64,
    0xff,
    0xfffe,
    0xffff,
    0x7fff_ffff,
    0x8000_0000,
    0xffff_fff0,
    0xffff_ffff,
];

const CHUNKS: [&[u8; 4]; 8] = [
    b"RIFF", b"RIFX", b"RF64", b"WAVE", b"fmt ", b"data", b"fact", b"LIST",
];

/// A whole small file.
pub fn whole(rng: &mut Rng) -> Vec<u8> {
    let (bits, float) = FORMS[rng.usize(..FORMS.len())];
    let channels = rng.u16(1..=2);
    let rate = [8_000_u32, 44_100, 48_000, 96_000, 192_000][rng.usize(..5)];
    let frame = channels * (bits / 8);
    let extensible = rng.bool();
    let kind: u16 = match (extensible, float) {
        (true, _) => 0xfffe,
        (false, true) => 3,
        (false, false) => 1,
    };
    let mut fmt = Vec::new();
    fmt.extend(kind.to_le_bytes());
    fmt.extend(channels.to_le_bytes());
    fmt.extend(rate.to_le_bytes());
    fmt.extend((rate * u32::from(frame)).to_le_bytes());
    fmt.extend(frame.to_le_bytes());
    fmt.extend(bits.to_le_bytes());
    if extensible {
        fmt.extend(22_u16.to_le_bytes());
        fmt.extend(bits.to_le_bytes());
        fmt.extend(
            [u32::from(channels == 1) * 4 + u32::from(channels == 2) * 3]
                .map(u32::to_le_bytes)
                .concat(),
        );
        // The format again, as the first two bytes of a GUID.
        fmt.extend([if float { 3 } else { 1 }, 0, 0, 0, 0, 0, 0x10, 0]);
        fmt.extend([0x80, 0, 0, 0xaa, 0, 0x38, 0x9b, 0x71]);
    }
    let frames = rng.usize(0..80);
    let mut data = Vec::new();
    for _ in 0..frames * usize::from(channels) {
        if float {
            data.extend((rng.f32() * 2.0 - 1.0).to_le_bytes())
        } else {
            data.extend((0..bits / 8).map(|_| rng.u8(..)))
        }
    }
    let mut file = b"RIFF\0\0\0\0WAVE".to_vec();
    chunk(&mut file, b"fmt ", &fmt);
    if rng.u32(0..4) == 0 {
        chunk(&mut file, b"LIST", b"INFOISFT\x04\0\0\0test");
    }
    chunk(&mut file, b"data", &data);
    let size = file.len() as u32 - 8;
    file[4..8].copy_from_slice(&size.to_le_bytes());
    file
}

fn chunk(file: &mut Vec<u8>, name: &[u8; 4], body: &[u8]) {
    file.extend(name);
    file.extend((body.len() as u32).to_le_bytes());
    file.extend(body);
}

/// A small file with up to four changes, most of them in its header.
pub fn spoilt(rng: &mut Rng) -> Vec<u8> {
    let mut file = whole(rng);
    for _ in 0..rng.usize(0..5) {
        let near = file
            .len()
            .min(if rng.u32(0..4) > 0 { 90 } else { usize::MAX });
        if near < 8 {
            break;
        }
        let at = rng.usize(..near - 4);
        let field = FIELDS[rng.usize(..FIELDS.len())].to_le_bytes();
        match rng.u32(0..9) {
            0 => file[at] = rng.u8(..),
            1 => file[at] ^= 1 << rng.u32(0..8),
            2 => file[at & !1..][..2].copy_from_slice(&field[..2]),
            3 => file[at & !3..][..4].copy_from_slice(&field),
            4 => file[at & !3..][..4].copy_from_slice(CHUNKS[rng.usize(..CHUNKS.len())]),
            5 => file.truncate(at),
            6 => drop(file.splice(at..at, field)),
            7 => drop(file.drain(at..at + rng.usize(1..5))),
            _ => file.extend_from_within(at..),
        }
    }
    file
}
