//! Bytes to text: UTF-8 with or without mark, UTF-16, and Windows-1252 for what is none of these.

use std::borrow::Cow;
use std::io::{self, Read};

use encoding_rs::{Decoder, Encoding, UTF_16BE, UTF_16LE, WINDOWS_1252};

/// Bytes that the encoding is told from.
const HEAD: usize = 64;

/// A reader that hands on UTF-8 (or an unmarked 8-bit encoding) without its byte-order mark.
pub(in crate::intake) struct Unmarked<R> {
    inner: R,
    head: Vec<u8>,
    decoder: Option<Decoder>,
    decoded: Vec<u8>,
    at: usize,
    is_ended: bool,
}

impl<R: Read> Unmarked<R> {
    /// Looks at the first bytes for a mark.
    pub(in crate::intake) fn new(mut inner: R) -> io::Result<Self> {
        let mut head = vec![0; HEAD];
        let mut count = 0;
        while count < head.len() {
            match inner.read(&mut head[count..]) {
                Ok(0) => break,
                Ok(read) => count += read,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
        head.truncate(count);
        let (encoding, mark) = encoding_of(&head);
        head.drain(..mark);
        let decoder = encoding.map(Encoding::new_decoder_without_bom_handling);
        Ok(Self {
            inner,
            head,
            decoder,
            decoded: Vec::new(),
            at: 0,
            is_ended: false,
        })
    }

    fn read_raw(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        if self.head.is_empty() {
            return self.inner.read(buffer);
        }
        let count = self.head.len().min(buffer.len());
        for (to, from) in buffer.iter_mut().zip(self.head.drain(..count)) {
            *to = from;
        }
        Ok(count)
    }

    fn read_decoded(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        while self.at == self.decoded.len() && !self.is_ended {
            let mut raw = vec![0; 1 << 16];
            let count = self.read_raw(&mut raw)?;
            self.is_ended = count == 0;
            self.decoded.resize((count + 4) * 3, 0);
            self.at = 0;
            let Some(decoder) = &mut self.decoder else {
                break;
            };
            let (_, _, written, _) = decoder.decode_to_utf8(
                raw.get(..count).unwrap_or_default(),
                &mut self.decoded,
                self.is_ended,
            );
            self.decoded.truncate(written);
        }
        let ready = self.decoded.get(self.at..).unwrap_or_default();
        let count = ready.len().min(buffer.len());
        buffer[..count].copy_from_slice(&ready[..count]);
        self.at += count;
        Ok(count)
    }
}

impl<R: Read> Read for Unmarked<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        if self.decoder.is_some() {
            self.read_decoded(buffer)
        } else {
            self.read_raw(buffer)
        }
    }
}

/// The encoding that a mark (or the zero bytes of unmarked UTF-16) shows, and the mark's length.
fn encoding_of(head: &[u8]) -> (Option<&'static Encoding>, usize) {
    match head {
        [0xEF, 0xBB, 0xBF, ..] => (None, 3),
        [0xFF, 0xFE, ..] => (Some(UTF_16LE), 2),
        [0xFE, 0xFF, ..] => (Some(UTF_16BE), 2),
        _ => {
            let zeros = |offset: usize| {
                head.iter()
                    .skip(offset)
                    .step_by(2)
                    .filter(|&&byte| byte == 0)
                    .count()
            };
            let most = head.len() / 2;
            if head.len() >= 16 && zeros(1) * 10 >= most * 8 && zeros(0) == 0 {
                (Some(UTF_16LE), 0)
            } else if head.len() >= 16 && zeros(0) * 10 >= most * 8 && zeros(1) == 0 {
                (Some(UTF_16BE), 0)
            } else {
                (None, 0)
            }
        }
    }
}

/// Length of the mark at the head of a file; `None` where its encoding has to be turned into another one.
pub(in crate::intake) fn length_of_mark(bytes: &[u8]) -> Option<usize> {
    let (encoding, mark) = encoding_of(bytes.get(..HEAD).unwrap_or(bytes));
    encoding.is_none().then_some(mark)
}

/// The text of a cell, and whether it had to be read as Windows-1252.
pub(in crate::intake) fn text_of(bytes: &[u8]) -> (Cow<'_, str>, bool) {
    match std::str::from_utf8(bytes) {
        Ok(text) => (Cow::Borrowed(text), false),
        Err(_) => (WINDOWS_1252.decode_without_bom_handling(bytes).0, true),
    }
}
