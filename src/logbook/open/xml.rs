//! A pull tokenizer for the XML of spreadsheets, in bounded memory.
//!
//! Workbooks are large heaps of very small elements, and a hostile one is a small file with one enormous text. Both want the same thing: a
//! window that slides over the part while it is being unpacked. Text comes in pieces of at most a window, an element's own tag must fit a
//! generous limit, and document type definitions (with their entities) are refused, as no spreadsheet has any.

use super::error::OpenError;

/// Where the bytes come from.
pub(in crate::logbook) trait Chunks {
    /// Fills the front of `into` and says how much; 0 at the end.
    fn read(&mut self, into: &mut [u8]) -> Result<usize, OpenError>;

    /// How much is still to come, as far as that is known.
    fn left(&self) -> usize;
}

impl Chunks for &[u8] {
    fn read(&mut self, into: &mut [u8]) -> Result<usize, OpenError> {
        let length = self.len().min(into.len());
        let (now, later) = self.split_at(length);
        if let Some(front) = into.get_mut(..length) {
            front.copy_from_slice(now);
        }
        *self = later;
        Ok(length)
    }

    fn left(&self) -> usize {
        self.len()
    }
}

/// The window at first, and the largest piece of text.
const WINDOW: usize = 64 << 10;
/// The longest tag that is still read, attributes included.
const LONGEST_TAG: usize = 1 << 20;

/// One token.
#[derive(Debug)]
pub(super) enum Event<'a> {
    /// An element begins. One that is empty ends with the next event, like any other.
    Start(Tag<'a>),
    /// An element ends; its name with its prefix.
    End(&'a [u8]),
    /// A piece of text, entities not yet replaced.
    Text(&'a [u8]),
    /// A piece of text to be taken as it is.
    Literal(&'a [u8]),
    /// The part is over.
    Eof,
}

/// The tag that begins an element.
#[derive(Debug, Clone, Copy)]
pub(super) struct Tag<'a> {
    /// Name with its prefix.
    pub(super) name: &'a [u8],
    attributes: &'a [u8],
}

impl<'a> Tag<'a> {
    /// The attributes in their order: name with prefix, raw value.
    pub(super) fn attributes(&self) -> Attributes<'a> {
        Attributes {
            rest: self.attributes,
        }
    }

    /// The raw value of an attribute by its full name.
    pub(super) fn attribute(&self, name: &[u8]) -> Option<&'a [u8]> {
        self.attributes()
            .find_map(|(key, value)| (key == name).then_some(value))
    }

    /// The value of an attribute by its full name as text, entities replaced.
    pub(super) fn text(&self, name: &[u8]) -> Option<String> {
        self.attribute(name).map(plain)
    }
}

/// A name without its prefix.
pub(super) fn local(name: &[u8]) -> &[u8] {
    match memchr::memchr(b':', name) {
        Some(colon) => name.get(colon + 1..).unwrap_or_default(),
        None => name,
    }
}

/// Raw text as a string, entities replaced; what is no UTF-8 becomes `�`.
pub(super) fn plain(raw: &[u8]) -> String {
    let mut bytes = Vec::with_capacity(raw.len());
    unescape(raw, &mut bytes);
    String::from_utf8(bytes)
        .unwrap_or_else(|error| String::from_utf8_lossy(error.as_bytes()).into_owned())
}

/// Appends raw text with the five entities of XML and character references replaced, and line ends made one. Others stay as they stand.
pub(super) fn unescape(raw: &[u8], into: &mut Vec<u8>) {
    let mut rest = raw;
    while let Some(at) = memchr::memchr2(b'&', b'\r', rest) {
        let (before, from) = rest.split_at(at);
        into.extend_from_slice(before);
        if let Some(after) = from.strip_prefix(b"\r") {
            into.push(b'\n');
            rest = after.strip_prefix(b"\n").unwrap_or(after);
            continue;
        }
        // The longest character reference is `&#x10FFFF;`.
        let end = from.iter().take(12).position(|byte| *byte == b';');
        let reference = end.and_then(|end| from.get(1..end));
        if let Some(character) = reference.and_then(referred) {
            let mut buffer = [0; 4];
            into.extend_from_slice(character.encode_utf8(&mut buffer).as_bytes());
            rest = end.and_then(|end| from.get(end + 1..)).unwrap_or_default();
        } else {
            into.push(b'&');
            rest = from.get(1..).unwrap_or_default();
        }
    }
    into.extend_from_slice(rest);
}

fn referred(reference: &[u8]) -> Option<char> {
    Some(match reference {
        b"amp" => '&',
        b"lt" => '<',
        b"gt" => '>',
        b"quot" => '"',
        b"apos" => '\'',
        _ => {
            let digits = std::str::from_utf8(reference.strip_prefix(b"#")?).ok()?;
            let code = match digits.strip_prefix(['x', 'X']) {
                Some(hex) => u32::from_str_radix(hex, 16).ok()?,
                None => digits.parse().ok()?,
            };
            char::from_u32(code).filter(|character| *character != '\0')?
        }
    })
}

/// The attributes of a tag.
#[derive(Debug)]
pub(super) struct Attributes<'a> {
    rest: &'a [u8],
}

impl<'a> Iterator for Attributes<'a> {
    type Item = (&'a [u8], &'a [u8]);

    fn next(&mut self) -> Option<Self::Item> {
        // Names and values are short: plain loops are faster here than any search.
        let equals = self.rest.iter().position(|byte| *byte == b'=')?;
        let (name, after) = self.rest.split_at_checked(equals)?;
        let after = after.get(1..)?.trim_ascii_start();
        let (quote, value) = after.split_first()?;
        if !matches!(quote, b'"' | b'\'') {
            return None;
        }
        let end = value.iter().position(|byte| byte == quote)?;
        self.rest = value.get(end + 1..)?;
        Some((name.trim_ascii(), value.get(..end)?))
    }
}

/// The tokenizer.
pub(super) struct Xml<C> {
    source: C,
    buffer: Vec<u8>,
    /// What of the buffer is read: `at..end` is still to come.
    at: usize,
    end: usize,
    over: bool,
    /// The name of an empty element whose end is still to be told, as a range of the buffer.
    pending_end: Option<(usize, usize)>,
    literal: bool,
}

/// What stands next, as ranges of the buffer: so that the buffer may move while it is being found.
enum Found {
    Start {
        name: (usize, usize),
        attributes: (usize, usize),
    },
    End((usize, usize)),
    Text((usize, usize)),
    Literal((usize, usize)),
    Eof,
}

impl<C: Chunks> Xml<C> {
    /// A tokenizer at the front of `source`.
    pub(super) fn new(source: C) -> Self {
        // One more than is left, so that the end is seen without growing.
        let window = source.left().saturating_add(1).clamp(16, WINDOW);
        Self {
            source,
            buffer: vec![0; window],
            at: 0,
            end: 0,
            over: false,
            pending_end: None,
            literal: false,
        }
    }

    /// The next token.
    pub(super) fn next(&mut self) -> Result<Event<'_>, OpenError> {
        let found = match self.pending_end.take() {
            Some(name) => Found::End(name),
            None => self.find()?,
        };
        let slice = |(from, to): (usize, usize)| self.buffer.get(from..to).unwrap_or_default();
        Ok(match found {
            Found::Start { name, attributes } => Event::Start(Tag {
                name: slice(name),
                attributes: slice(attributes),
            }),
            Found::End(name) => Event::End(slice(name)),
            Found::Text(range) => Event::Text(slice(range)),
            Found::Literal(range) => Event::Literal(slice(range)),
            Found::Eof => Event::Eof,
        })
    }

    /// Appends the text inside the element that has just begun to `into`, those of its inner elements included, up to its end.
    pub(super) fn text_inside(&mut self, into: &mut Vec<u8>) -> Result<(), OpenError> {
        let mut depth = 1_u32;
        while depth > 0 {
            match self.next()? {
                Event::Start(_) => depth = depth.saturating_add(1),
                Event::End(_) => depth -= 1,
                Event::Text(raw) => unescape(raw, into),
                Event::Literal(raw) => into.extend_from_slice(raw),
                Event::Eof => return Err(OpenError::ends_early()),
            }
            if into.len() > LONGEST_TEXT {
                return Err(OpenError::LongCell);
            }
        }
        Ok(())
    }

    /// Passes over the element that has just begun.
    pub(super) fn skip(&mut self) -> Result<(), OpenError> {
        let mut depth = 1_u32;
        while depth > 0 {
            match self.next()? {
                Event::Start(_) => depth = depth.saturating_add(1),
                Event::End(_) => depth -= 1,
                Event::Eof => return Err(OpenError::ends_early()),
                _ => {}
            }
        }
        Ok(())
    }

    fn rest(&self) -> &[u8] {
        self.buffer.get(self.at..self.end).unwrap_or_default()
    }

    fn find(&mut self) -> Result<Found, OpenError> {
        loop {
            if self.at >= self.end && !self.fill()? {
                return Ok(Found::Eof);
            }
            if self.literal {
                if let Some(found) = self.find_literal()? {
                    return Ok(found);
                }
                continue;
            }
            if self.buffer.get(self.at) != Some(&b'<') {
                return self.find_text();
            }
            // Nine bytes tell every kind of markup from every other.
            while self.end - self.at < 9 && self.fill()? {}
            let rest = self.rest();
            match rest.get(1) {
                Some(b'/') => {
                    let end = self.end_of_close()?;
                    let name = (self.at + 2, self.at + end);
                    self.at += end + 1;
                    return Ok(Found::End(self.trimmed(name)));
                }
                Some(b'?') => self.pass(b"?>", 2)?,
                Some(b'!') if rest.starts_with(b"<!--") => self.pass(b"-->", 4)?,
                Some(b'!') if rest.starts_with(b"<![CDATA[") => {
                    self.at += 9;
                    self.literal = true;
                }
                Some(b'!') => {
                    return Err(OpenError::damaged(
                        "it brings definitions of its own, which no spreadsheet does",
                    ));
                }
                _ => return self.find_start(),
            }
        }
    }

    /// Text up to the next markup, or a window of it.
    fn find_text(&mut self) -> Result<Found, OpenError> {
        loop {
            let from = self.at;
            let rest = self.rest();
            if let Some(length) = memchr::memchr(b'<', rest) {
                self.at += length;
                return Ok(Found::Text((from, self.at)));
            }
            let length = rest.len();
            // Enough for a piece: but never through the middle of a reference.
            if length >= WINDOW / 2 {
                let tail = rest.get(length - 12..).unwrap_or_default();
                let cut = match memchr::memrchr(b'&', tail) {
                    Some(at) if !tail.get(at..).unwrap_or_default().contains(&b';') => {
                        length - 12 + at
                    }
                    _ if tail.last() == Some(&b'\r') => length - 1,
                    _ => length,
                };
                self.at += cut;
                return Ok(Found::Text((from, self.at)));
            }
            if !self.fill()? {
                let from = self.at;
                self.at = self.end;
                return Ok(Found::Text((from, self.end)));
            }
        }
    }

    /// Text up to the end of the literal section; none where the section ends at once.
    fn find_literal(&mut self) -> Result<Option<Found>, OpenError> {
        const CLOSE: &[u8] = b"]]>";
        loop {
            let from = self.at;
            let rest = self.rest();
            if let Some(length) = memchr::memmem::find(rest, CLOSE) {
                self.at += length + CLOSE.len();
                self.literal = false;
                return Ok((length > 0).then_some(Found::Literal((from, from + length))));
            }
            if rest.len() >= WINDOW / 2 {
                // The close may be cut in two.
                self.at = self.end - (CLOSE.len() - 1);
                return Ok(Some(Found::Literal((from, self.at))));
            }
            if !self.fill()? {
                return Err(OpenError::ends_early());
            }
        }
    }

    fn find_start(&mut self) -> Result<Found, OpenError> {
        let end = loop {
            match tag_end(self.rest()) {
                Some(end) => break end,
                None if self.end - self.at > LONGEST_TAG => {
                    return Err(OpenError::damaged("a tag in it is far too long"));
                }
                None if !self.fill()? => return Err(OpenError::ends_early()),
                None => {}
            }
        };
        let from = self.at;
        let inside = self.buffer.get(from + 1..from + end).unwrap_or_default();
        let empty = inside.last() == Some(&b'/');
        let length = inside.len() - usize::from(empty);
        let name_length = inside
            .iter()
            .take(length)
            .position(u8::is_ascii_whitespace)
            .unwrap_or(length);
        let name = (from + 1, from + 1 + name_length);
        let attributes = (name.1, from + 1 + length);
        self.at += end + 1;
        if empty {
            self.pending_end = Some(name);
        }
        Ok(Found::Start { name, attributes })
    }

    /// The text of a `v` that is the only child of a `c`, where it lies whole in the window and holds no references; both elements are then
    /// passed. Nearly every cell is like this, and five tokens become one step.
    pub(super) fn only_value(&mut self) -> Option<&[u8]> {
        const OPEN: &[u8] = b"<v>";
        const CLOSE: &[u8] = b"</v></c>";
        if self.pending_end.is_some() || self.literal {
            return None;
        }
        let inside = self.rest().strip_prefix(OPEN)?;
        let length = inside
            .iter()
            .position(|byte| matches!(byte, b'<' | b'&' | b'\r'))?;
        if !inside.get(length..)?.starts_with(CLOSE) {
            return None;
        }
        let from = self.at + OPEN.len();
        self.at = from + length + CLOSE.len();
        self.buffer.get(from..from + length)
    }

    fn trimmed(&self, (from, to): (usize, usize)) -> (usize, usize) {
        let name = self.buffer.get(from..to).unwrap_or_default();
        (from, from + name.trim_ascii_end().len())
    }

    /// How far the end of the closing tag is from `at`.
    fn end_of_close(&mut self) -> Result<usize, OpenError> {
        loop {
            let rest = self.rest();
            if let Some(length) = rest.iter().position(|byte| *byte == b'>') {
                return Ok(length);
            }
            if rest.len() > LONGEST_TAG {
                return Err(OpenError::damaged("a tag in it is far too long"));
            }
            if !self.fill()? {
                return Err(OpenError::ends_early());
            }
        }
    }

    /// Passes over markup of any length up to and with `close`.
    fn pass(&mut self, close: &[u8], start: usize) -> Result<(), OpenError> {
        self.at += start;
        loop {
            let rest = self.rest();
            if let Some(length) = memchr::memmem::find(rest, close) {
                self.at += length + close.len();
                return Ok(());
            }
            let keep = rest.len().min(close.len() - 1);
            self.at = self.end - keep;
            if !self.fill()? {
                return Err(OpenError::ends_early());
            }
        }
    }

    /// Reads more behind what is still to come; false at the end of the part.
    fn fill(&mut self) -> Result<bool, OpenError> {
        if self.over {
            return Ok(false);
        }
        if self.at > 0 {
            self.buffer.copy_within(self.at..self.end, 0);
            self.end -= self.at;
            self.at = 0;
        }
        if self.end == self.buffer.len() {
            self.buffer.resize(self.buffer.len() * 2, 0);
        }
        let room = self.buffer.get_mut(self.end..).unwrap_or_default();
        let read = self.source.read(room)?;
        self.end += read;
        self.over = read == 0;
        Ok(read > 0)
    }
}

/// The longest text of one cell, in bytes: thirty times what a spreadsheet program allows.
pub(super) const LONGEST_TEXT: usize = 1 << 20;

/// Where the tag that begins `rest` ends: the first `>` outside quotes. Tags are short: a plain loop is faster here than any search.
fn tag_end(rest: &[u8]) -> Option<usize> {
    let mut quote = None;
    let end = rest.iter().skip(1).position(|byte| {
        if let Some(open) = quote {
            if *byte == open {
                quote = None;
            }
            return false;
        }
        if matches!(byte, b'"' | b'\'') {
            quote = Some(*byte);
        }
        *byte == b'>'
    });
    end.map(|at| at + 1)
}

#[cfg(test)]
mod tests {
    use std::fmt::Write as _;

    use super::*;

    /// Gives a byte at a time, so that every token is cut at every place.
    struct Drops<'a>(&'a [u8]);

    impl Chunks for Drops<'_> {
        fn read(&mut self, into: &mut [u8]) -> Result<usize, OpenError> {
            let Some((first, rest)) = self.0.split_first() else {
                return Ok(0);
            };
            into[0] = *first;
            self.0 = rest;
            Ok(1)
        }

        fn left(&self) -> usize {
            0
        }
    }

    fn told(xml: &mut Xml<impl Chunks>) -> Result<String, OpenError> {
        let mut all = String::new();
        loop {
            match xml.next()? {
                Event::Start(tag) => {
                    all.push('<');
                    all.push_str(&plain(tag.name));
                    for (name, value) in tag.attributes() {
                        write!(all, " {}={}", plain(name), plain(value)).unwrap();
                    }
                    all.push('>');
                }
                Event::End(name) => write!(all, "</{}>", plain(name)).unwrap(),
                Event::Text(raw) => all.push_str(&plain(raw)),
                Event::Literal(raw) => all.push_str(&String::from_utf8_lossy(raw)),
                Event::Eof => return Ok(all),
            }
        }
    }

    #[test]
    fn tokens_are_the_same_however_the_bytes_arrive() {
        let text = b"<?xml version=\"1.0\"?><!-- a > b --><a x='1>2' y = \"&lt;\"><b/>t&amp;&#x263A;<![CDATA[<raw>]]]></c >&unknown;</a>";
        let expected = "<a x=1>2 y=<><b></b>t&\u{263a}<raw>]</c>&unknown;</a>";
        assert_eq!(told(&mut Xml::new(&text[..])).unwrap(), expected);
        assert_eq!(told(&mut Xml::new(Drops(text))).unwrap(), expected);
    }

    #[test]
    fn a_text_of_many_windows_comes_in_pieces_and_whole() {
        let mut text = b"<t>".to_vec();
        for _ in 0..100_000 {
            text.extend_from_slice(b"ab&amp;");
        }
        text.extend_from_slice(b"</t>");
        let mut xml = Xml::new(&text[..]);
        assert!(matches!(xml.next().unwrap(), Event::Start(_)));
        let mut all = Vec::new();
        xml.text_inside(&mut all).unwrap();
        assert_eq!(all, b"ab&".repeat(100_000));
        assert!(xml.buffer.len() <= 2 * WINDOW);
    }

    #[test]
    fn definitions_and_torn_parts_are_refused() {
        let bomb = b"<!DOCTYPE a [<!ENTITY b 'c'>]><a>&b;</a>";
        assert!(told(&mut Xml::new(&bomb[..])).is_err());
        for torn in [&b"<a"[..], b"<a b='", b"<!-- ", b"<![CDATA[ x", b"</a"] {
            assert_eq!(
                told(&mut Xml::new(torn)),
                Err(OpenError::ends_early()),
                "{torn:?}"
            );
        }
        let mut long = b"<a ".to_vec();
        long.resize(3 << 20, b'x');
        assert!(told(&mut Xml::new(&long[..])).is_err());
    }

    #[test]
    fn line_ends_become_one() {
        assert_eq!(plain(b"a\r\nb\rc\nd&#10;e"), "a\nb\nc\nd\ne");
    }
}
