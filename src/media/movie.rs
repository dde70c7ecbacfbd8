//! The boxes of an MP4 or MOV (ISO/IEC 14496-12) that say where its sound stands: the edit list,
//! which the decoders' own reader drops. And that no box promises more than there is: that reader
//! would take memory for it.

use std::fs::File;
use std::io::{Read, Seek, SeekFrom};

use super::sound_track::{SoundTrack, Start};

const SENSELESS: &str = "corrupt: a box in it makes no sense";
const TRUNCATED: &str = "truncated: its boxes promise more than is there";
/// Boxes that hold boxes, as far as they are read.
const HOLDERS: [&[u8; 4]; 12] = [
    b"moov", b"trak", b"mdia", b"minf", b"stbl", b"edts", b"mvex", b"moof", b"traf", b"udta",
    b"ilst", b"dinf",
];
/// Tables: where their count stands, and how many bytes an entry has.
const TABLES: [(&[u8; 4], usize, usize); 6] = [
    (b"stts", 4, 8),
    (b"ctts", 4, 8),
    (b"stsc", 4, 12),
    (b"stss", 4, 4),
    (b"stco", 4, 4),
    (b"co64", 4, 8),
];
/// The largest index of a film, bytes: hours of it have a few million.
const LARGEST_INDEX: u64 = 1 << 26;
/// How deep boxes may lie in boxes.
const DEEPEST: usize = 12;

/// Reads the tracks of sound, in the order of the file.
pub fn sound_tracks(file: &mut File) -> Result<Vec<SoundTrack>, String> {
    let cannot = |error: std::io::Error| format!("the film cannot be read: {error}");
    let length = file.seek(SeekFrom::End(0)).map_err(cannot)?;
    let (mut at, mut tracks) = (0, None);
    while at + 8 <= length {
        file.seek(SeekFrom::Start(at)).map_err(cannot)?;
        let mut head = [0; 16];
        let take = (length - at).min(16) as usize;
        file.read_exact(&mut head[..take]).map_err(cannot)?;
        let (_, size) = header(&head[..take], length - at)?;
        if size > length - at {
            return Err(TRUNCATED.into());
        }
        if matches!(&head[4..8], b"moov" | b"moof" | b"meta") {
            if size > LARGEST_INDEX {
                return Err(SENSELESS.into());
            }
            let mut index = vec![0; size as usize];
            file.seek(SeekFrom::Start(at)).map_err(cannot)?;
            file.read_exact(&mut index).map_err(cannot)?;
            check(&index, length, 0)?;
            if &head[4..8] == b"moov" {
                tracks = Some(tracks_of(&index)?);
            }
        }
        at += size;
    }
    tracks.ok_or_else(|| TRUNCATED.into())
}

/// A box's first bytes: how many there are before what it holds, and its whole size; `left` is
/// what is there for one that goes to the end.
fn header(bytes: &[u8], left: u64) -> Result<(usize, u64), String> {
    let short = number(bytes, 0, 4)?;
    let (head, size) = match short {
        0 => (8, left),
        1 => (16, number(bytes, 8, 8)?),
        size => (8, size),
    };
    if size < head as u64 {
        return Err(SENSELESS.into());
    }
    Ok((head, size))
}

/// A number of up to eight bytes.
fn number(bytes: &[u8], at: usize, width: usize) -> Result<u64, String> {
    let bytes = bytes.get(at..at + width).ok_or(SENSELESS)?;
    Ok((bytes.iter()).fold(0, |number, byte| (number << 8) | u64::from(*byte)))
}

/// What a box is called, and what it holds.
type Named<'b> = ([u8; 4], &'b [u8]);

/// Boxes one after the other.
fn boxes(mut bytes: &[u8]) -> Result<Vec<Named<'_>>, String> {
    let mut found = Vec::new();
    // Some writers end a list with a zero of four bytes.
    while bytes.len() >= 8 {
        let (head, size) = header(bytes, bytes.len() as u64)?;
        let whole = bytes.get(..size as usize).ok_or(SENSELESS)?;
        let name = [bytes[4], bytes[5], bytes[6], bytes[7]];
        found.push((name, &whole[head..]));
        bytes = &bytes[size as usize..];
    }
    Ok(found)
}

fn first<'b>(bytes: &'b [u8], name: &[u8; 4]) -> Result<&'b [u8], String> {
    let found = boxes(bytes)?.into_iter().find(|(other, _)| other == name);
    Ok(found.ok_or(SENSELESS)?.1)
}

/// No table is longer than its box, and no sample longer than the file.
fn check(bytes: &[u8], length: u64, depth: usize) -> Result<(), String> {
    if depth > DEEPEST {
        return Err(SENSELESS.into());
    }
    for (name, held) in boxes(bytes)? {
        if HOLDERS.contains(&&name) {
            check(held, length, depth + 1)?;
        }
        for (table, at, width) in TABLES {
            if name == *table && number(held, at, 4)? > (held.len() / width) as u64 {
                return Err(SENSELESS.into());
            }
        }
        let largest = match &name {
            b"stsz" => largest_of_table(held)?,
            b"trun" => largest_of_run(held)?,
            b"tfhd" => default_of_fragment(held)?,
            b"trex" => number(held, 16, 4)?,
            _ => 0,
        };
        if largest > length {
            return Err(TRUNCATED.into());
        }
    }
    Ok(())
}

/// The largest sample of an `stsz`, bytes: all have one size, or each its own.
fn largest_of_table(held: &[u8]) -> Result<u64, String> {
    let (each, count) = (number(held, 4, 4)?, number(held, 8, 4)?);
    if each > 0 {
        return Ok(each);
    }
    largest(held, 12, 4, count)
}

/// The largest sample of a `trun`, bytes; 0 where it names none.
fn largest_of_run(held: &[u8]) -> Result<u64, String> {
    let (flags, count) = (number(held, 1, 3)?, number(held, 4, 4)?);
    let optional = |flag: u64| if flags & flag == 0 { 0 } else { 4 };
    let (duration, size) = (optional(0x100), optional(0x200));
    if size == 0 {
        return Ok(0);
    }
    let from = 8 + optional(0x1) + optional(0x4) + duration;
    let entry = duration + size + optional(0x400) + optional(0x800);
    largest(held, from, entry, count)
}

/// The size that a `tfhd` gives to samples, bytes; 0 where it gives none.
fn default_of_fragment(held: &[u8]) -> Result<u64, String> {
    let flags = number(held, 1, 3)?;
    if flags & 0x10 == 0 {
        return Ok(0);
    }
    let before = [(0x1, 8), (0x2, 4), (0x8, 4)];
    let before = before.iter().filter(|(flag, _)| flags & flag != 0);
    number(held, 8 + before.map(|(_, width)| width).sum::<usize>(), 4)
}

/// The largest of as many numbers of four bytes, one every `step` bytes.
fn largest(held: &[u8], from: usize, step: usize, count: u64) -> Result<u64, String> {
    if count > (held.len() / step) as u64 {
        return Err(SENSELESS.into());
    }
    let mut each = (0..count as usize).map(|n| number(held, from + n * step, 4));
    each.try_fold(0, |most, size| Ok(most.max(size?)))
}

/// The tracks of sound that a `moov` describes.
fn tracks_of(moov: &[u8]) -> Result<Vec<SoundTrack>, String> {
    let moov = first(moov, b"moov")?;
    let movie_s = timescale(first(moov, b"mvhd")?)?;
    let mut tracks = Vec::new();
    let traks = boxes(moov)?.into_iter().filter(|(name, _)| name == b"trak");
    for (id, (_, trak)) in traks.enumerate() {
        let media = first(trak, b"mdia")?;
        if first(media, b"hdlr")?.get(8..12) != Some(b"soun") {
            continue;
        }
        let table = first(first(media, b"minf")?, b"stbl")?;
        let entry = first(table, b"stsd")?.get(8..).ok_or(SENSELESS)?;
        let (form, described) = *boxes(entry)?.first().ok_or(SENSELESS)?;
        let edits = boxes(trak)?.into_iter().find(|(name, _)| name == b"edts");
        let edits = edits.map(|(_, edts)| first(edts, b"elst")).transpose()?;
        let shift_s = match edits {
            Some(list) => shift_s(list, movie_s, timescale(first(media, b"mdhd")?)?)?,
            None => None,
        };
        // These two begin with what their encoder put there, and the list alone tells how much.
        let has_priming = matches!(&form, b"mp4a" | b".mp3");
        tracks.push(SoundTrack {
            id: id as u32,
            form: String::from_utf8_lossy(&form).trim().to_string(),
            shift_s: shift_s.unwrap_or(0.0),
            start: if shift_s.is_none() && has_priming {
                Start::Unknown
            } else {
                Start::Exact
            },
            alac: if form == *b"alac" {
                alac_in_wave(described)?
            } else {
                None
            },
        });
    }
    Ok(tracks)
}

/// What ALAC's decoder must know, where a MOV keeps it: in a `wave` box of the sample's description
/// (QuickTime File Format, sound sample descriptions). MP4 has it in the description itself.
fn alac_in_wave(described: &[u8]) -> Result<Option<Box<[u8]>>, String> {
    // Versions 1 and 2 have fields of their own before the boxes.
    let from = match number(described, 8, 2)? {
        1 => 44,
        2 => 64,
        _ => 28,
    };
    let inner = boxes(described.get(from..).ok_or(SENSELESS)?)?;
    let Some((_, wave)) = inner.into_iter().find(|(name, _)| name == b"wave") else {
        return Ok(None);
    };
    // Version and flags stand before it.
    let alac = boxes(wave)?.into_iter().find(|(name, _)| name == b"alac");
    Ok(alac.and_then(|(_, held)| Some(held.get(4..)?.into())))
}

/// Units a second, of an `mvhd` or `mdhd`.
fn timescale(held: &[u8]) -> Result<f64, String> {
    let at = if number(held, 0, 1)? == 1 { 20 } else { 12 };
    match number(held, at, 4)? {
        0 => Err(SENSELESS.into()),
        units => Ok(units as f64),
    }
}

/// What an edit list adds to the times of its track, s; none where it is empty.
fn shift_s(list: &[u8], movie_s: f64, media_s: f64) -> Result<Option<f64>, String> {
    let wide = number(list, 0, 1)? == 1;
    let (width, entry) = if wide { (8, 20) } else { (4, 12) };
    let mut delay_s = 0.0;
    let mut shift = None;
    for at in 0..number(list, 4, 4)? as usize {
        let at = 8 + at.saturating_mul(entry);
        let (duration, media_time) = (number(list, at, width)?, number(list, at + width, width)?);
        let rate = number(list, at + 2 * width, 4)?;
        // Nothing is played: -1 in the list's own width.
        if media_time == u64::MAX >> (64 - 8 * width) {
            delay_s += duration as f64 / movie_s;
        } else if shift.is_some() || rate != 1 << 16 {
            return Err("its sound is cut into pieces, or slowed, by its edit list".into());
        } else {
            shift = Some(delay_s - media_time as f64 / media_s);
        }
    }
    Ok(shift)
}
