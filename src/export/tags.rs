//! What a file says of itself: title, session, track number, where the format has a place for it.

/// The tags of one file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tags {
    /// What the file holds.
    pub title: String,
    /// The session.
    pub album: String,
    /// Which file of the session, from 1.
    pub number: usize,
    /// How many there are.
    pub of: usize,
}

impl Tags {
    /// A Vorbis comment as FLAC holds it (RFC 9639, section 8.6): lengths in 32 bits, little end
    /// first; the name of the writer, then the fields.
    pub fn vorbis_comment(&self) -> Vec<u8> {
        let mut bytes = Vec::new();
        let mut text = |text: &str| {
            bytes.extend((text.len() as u32).to_le_bytes());
            bytes.extend(text.as_bytes());
        };
        text("cuelane");
        let fields = [
            format!("TITLE={}", self.title),
            format!("ALBUM={}", self.album),
            format!("TRACKNUMBER={}", self.number),
            format!("TRACKTOTAL={}", self.of),
        ];
        let mut counted = (fields.len() as u32).to_le_bytes().to_vec();
        bytes.append(&mut counted);
        for field in fields {
            bytes.extend((field.len() as u32).to_le_bytes());
            bytes.extend(field.as_bytes());
        }
        bytes
    }

    /// An ID3v2.3 tag: a header of ten bytes, its size seven bits a byte, then frames of ten
    /// bytes and their text, in UTF-16 with its byte order (from memory, informal standard).
    pub fn id3(&self) -> Vec<u8> {
        let mut frames = Vec::new();
        for (name, text) in [
            ("TIT2", self.title.clone()),
            ("TALB", self.album.clone()),
            ("TRCK", format!("{}/{}", self.number, self.of)),
        ] {
            let mut body = vec![1, 0xff, 0xfe];
            body.extend(text.encode_utf16().flat_map(u16::to_le_bytes));
            frames.extend(name.as_bytes());
            frames.extend((body.len() as u32).to_be_bytes());
            frames.extend([0, 0]);
            frames.extend(body);
        }
        let size = frames.len() as u32;
        let seven = [21, 14, 7, 0].map(|shift| (size >> shift & 0x7f) as u8);
        let mut tag = b"ID3\x03\x00\x00".to_vec();
        tag.extend(seven);
        tag.extend(frames);
        tag
    }
}
