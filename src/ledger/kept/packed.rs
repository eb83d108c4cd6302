//! Records small enough to keep by the hundred thousand: raw deflate (RFC 1951) against the text of an earlier record.
//!
//! A record is some 15 kB of JSON, most of it the same words in every record. What is kept can be read by any inflate
//! that takes a preset dictionary: `zlib.decompressobj(-15, zdict=text)` in Python, `text` being the last 32 kB of the
//! reference.

use flate2::{Compress, Compression, Decompress, FlushCompress, FlushDecompress, Status};

/// How far back a deflate stream can refer, bytes.
const WINDOW: usize = 32 * 1024;

/// Deflates `text` against `reference`.
pub(super) fn pack(text: &str, reference: &str) -> Option<Vec<u8>> {
    let mut deflate = Compress::new(Compression::best(), false);
    // The reference goes in first and what comes out for it is dropped: after a sync flush the stream stands on a whole
    // byte, and what follows refers back to the reference as to its own beginning.
    let reference = tail(reference);
    let mut packed = Vec::with_capacity(reference.len() + text.len() + 1024);
    deflate.compress_vec(reference, &mut packed, FlushCompress::Sync).ok()?;
    packed.clear();
    match deflate.compress_vec(text.as_bytes(), &mut packed, FlushCompress::Finish).ok()? {
        Status::StreamEnd => Some(packed),
        _ => None,
    }
}

/// The text of `bytes` bytes that was packed; `None` where it is damaged.
pub(super) fn unpack(packed: &[u8], reference: &str, bytes: usize) -> Option<String> {
    let reference = tail(reference);
    // The reference as a stored block (RFC 1951, 3.2.4) fills the window; its own output is cut off again.
    let length = u16::try_from(reference.len()).ok()?;
    let mut stream = vec![0];
    stream.extend(length.to_le_bytes());
    stream.extend((!length).to_le_bytes());
    stream.extend(reference);
    stream.extend(packed);
    let mut inflate = Decompress::new(false);
    let mut text = Vec::with_capacity(reference.len() + bytes + 1);
    let status = inflate.decompress_vec(&stream, &mut text, FlushDecompress::Finish).ok()?;
    if status != Status::StreamEnd || text.len() != reference.len() + bytes {
        return None;
    }
    String::from_utf8(text.split_off(reference.len())).ok()
}

fn tail(reference: &str) -> &[u8] {
    let bytes = reference.as_bytes();
    &bytes[bytes.len().saturating_sub(WINDOW)..]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_packed_comes_back_whatever_the_reference() {
        let long: String = (0..40_000).map(|n| format!("{n},")).collect();
        for reference in ["", "abc", "{\"schema\":\"sherdlight.reading/1\"}", &long] {
            for text in ["", "{\"schema\":\"sherdlight.reading/1\",\"grade\":\"sound\"}", &long] {
                let packed = pack(text, reference).unwrap();
                assert_eq!(unpack(&packed, reference, text.len()).as_deref(), Some(text));
            }
        }
        assert!(pack(&long, &long).unwrap().len() < pack(&long, "").unwrap().len());
    }

    #[test]
    fn damage_is_seen() {
        let text = "white slip, red, black paint and bare clay".repeat(9);
        let packed = pack(&text, "bare clay and black paint").unwrap();
        assert_eq!(unpack(&packed[..packed.len() - 3], "bare clay and black paint", text.len()), None);
        assert_eq!(unpack(&packed, "bare clay and black paint", text.len() - 1), None);
    }

    #[test]
    fn a_stream_of_another_deflate_is_read() {
        // zlib.compressobj(9, zlib.DEFLATED, -15, 9, 0, b'white slip, red') of Python 3.11 (zlib) over the text below.
        let packed = [0x2b, 0x47, 0xe5, 0xea, 0x28, 0x20, 0x0b, 0x24, 0xe5, 0x24, 0x26, 0x67, 0x03, 0x00];
        let text = "white slip, red, white slip, black";
        assert_eq!(unpack(&packed, "white slip, red", text.len()).as_deref(), Some(text));
    }
}
