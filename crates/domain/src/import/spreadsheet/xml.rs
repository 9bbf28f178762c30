//! One part of a workbook as events of XML, within limits.

use quick_xml::events::{BytesStart, Event};
use quick_xml::{Reader, XmlVersion};
use std::cell::Cell;
use std::io::{self, BufReader, Read};

/// The most bytes of one event: a text, a tag with its attributes, a comment.
const MAX_EVENT: u64 = 1 << 20;

/// The most events of all parts together: they are what takes time. A cell has
/// about ten, its text included.
const MAX_EVENTS: u64 = 3_000_000;

/// The deepest nesting; the parts that are read have about ten levels.
const MAX_DEPTH: usize = 64;

/// Why reading ends early.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stop {
    /// One of the limits is passed.
    TooLarge,
    /// It is not what such a part must be.
    Broken,
}

/// Whether to go on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Flow {
    On,
    Stop,
}

/// What a part consists of. An empty tag opens and closes.
pub(super) enum Node<'a> {
    Open(&'a BytesStart<'a>),
    Text(&'a str),
    Close(&'a str),
}

/// What may still be read.
#[derive(Debug)]
pub(super) struct Limits {
    bytes: Cell<u64>,
    events: Cell<u64>,
    /// Bytes since the last event began, to the size of a buffer.
    event: Cell<u64>,
}

impl Limits {
    pub(super) fn new(bytes: u64) -> Self {
        Limits { bytes: Cell::new(bytes), events: Cell::new(MAX_EVENTS), event: Cell::new(0) }
    }

    fn passed(&self) -> bool {
        self.bytes.get() == 0 || self.events.get() == 0 || self.event.get() > MAX_EVENT
    }
}

/// Counts what comes out of the archive, whatever the archive says of it.
struct Counted<'a, R> {
    inner: R,
    limits: &'a Limits,
}

impl<R: Read> Read for Counted<'_, R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        if self.limits.passed() {
            return Err(io::Error::other("a limit is passed"));
        }
        let count = self.inner.read(buffer)?;
        self.limits.bytes.set(self.limits.bytes.get().saturating_sub(count as u64));
        self.limits.event.set(self.limits.event.get() + count as u64);
        Ok(count)
    }
}

/// Hands the events of a part to `visit`, until it stops or the part ends.
/// Document types are refused, and so are entities that XML itself does not
/// know: nothing is ever expanded.
pub(super) fn walk(
    part: impl Read,
    limits: &Limits,
    mut visit: impl FnMut(Node<'_>) -> Result<Flow, Stop>,
) -> Result<(), Stop> {
    let mut reader = Reader::from_reader(BufReader::new(Counted { inner: part, limits }));
    let mut buffer = Vec::new();
    let mut depth = 0_usize;
    loop {
        buffer.clear();
        limits.event.set(0);
        limits.events.set(limits.events.get().saturating_sub(1));
        let event = reader.read_event_into(&mut buffer);
        if limits.passed() {
            return Err(Stop::TooLarge);
        }
        let flow = match event.map_err(|_| Stop::Broken)? {
            Event::Start(tag) => {
                depth += 1;
                if depth > MAX_DEPTH {
                    return Err(Stop::TooLarge);
                }
                visit(Node::Open(&tag))?
            }
            Event::Empty(tag) => match visit(Node::Open(&tag))? {
                Flow::On => visit(Node::Close(local(&tag)))?,
                Flow::Stop => Flow::Stop,
            },
            Event::End(tag) => {
                depth = depth.saturating_sub(1);
                visit(Node::Close(tag.local_name().into_inner()))?
            }
            Event::Text(text) => visit(Node::Text(&text.xml10_content()))?,
            Event::CData(text) => visit(Node::Text(&text.xml10_content()))?,
            Event::GeneralRef(reference) => match reference.resolve_char_ref().map_err(|_| Stop::Broken)? {
                Some(character) => visit(Node::Text(character.encode_utf8(&mut [0; 4])))?,
                None => {
                    let name = reference.into_inner();
                    visit(Node::Text(quick_xml::escape::resolve_xml_entity(&name).ok_or(Stop::Broken)?))?
                }
            },
            Event::DocType(_) => return Err(Stop::Broken),
            Event::Comment(_) | Event::PI(_) | Event::Decl(_) => Flow::On,
            // The reader takes an end inside an element for the end of the text.
            Event::Eof if depth > 0 => return Err(Stop::Broken),
            Event::Eof => Flow::Stop,
        };
        if flow == Flow::Stop {
            return Ok(());
        }
    }
}

/// The name of a tag without its prefix.
pub(super) fn local<'a>(tag: &'a BytesStart<'_>) -> &'a str {
    tag.local_name().into_inner()
}

/// The attribute that has no prefix.
pub(super) fn attribute(tag: &BytesStart<'_>, name: &str) -> Result<Option<String>, Stop> {
    find(tag, |key| key == name)
}

/// The attribute that has any prefix.
pub(super) fn qualified(tag: &BytesStart<'_>, name: &str) -> Result<Option<String>, Stop> {
    find(tag, |key| key.split_once(':').is_some_and(|(_, local)| local == name))
}

fn find(tag: &BytesStart<'_>, wanted: impl Fn(&str) -> bool) -> Result<Option<String>, Stop> {
    // Looking for names that come twice takes the square of their number.
    for attribute in tag.attributes().with_checks(false) {
        let attribute = attribute.map_err(|_| Stop::Broken)?;
        if wanted(attribute.key.as_ref()) {
            let value = attribute.normalized_value(XmlVersion::Implicit1_0).map_err(|_| Stop::Broken)?;
            return Ok(Some(value.into_owned()));
        }
    }
    Ok(None)
}
