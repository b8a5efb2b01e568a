//! Messages of IPP (RFC 8010): what is asked, and an answer that can be trusted to be small and flat.

use std::io::Cursor;

use ipp::{
    attribute::{IppAttribute, IppAttributeGroup},
    model::{DelimiterTag, IppVersion, Operation, StatusCode},
    parser::IppParser,
    reader::IppReader,
    request::IppRequestResponse,
    value::{BoundedString, IppName, IppValue},
};

use super::address::Address;

/// On whose behalf everything is asked. Queues tell the names of jobs to whom they belong alone.
const USER: &str = "cupwright";

/// Deepest nesting of collections in an answer that is read; a media collection has two.
const NESTED_MOST: usize = 8;

/// What is asked of a printer.
pub(super) struct Message {
    request: Option<IppRequestResponse>,
}

/// What a printer answers.
pub(super) struct Reply {
    pub(super) status: StatusCode,
    answer: IppRequestResponse,
}

impl Message {
    /// An operation on the printer at `address`, in IPP 1.1, which every printer speaks.
    pub(super) fn new(operation: Operation, address: &Address) -> Self {
        let request = IppRequestResponse::new(IppVersion::v1_1(), operation, None).ok();
        let message = Self { request };
        message
            .with("printer-uri", IppValue::new_uri(address.uri.clone()))
            .with("requesting-user-name", IppValue::new_name_without_language(USER))
    }

    /// With an attribute of the operation. One that the protocol cannot hold leaves no message at all.
    pub(super) fn with<E>(self, name: &str, value: Result<IppValue, E>) -> Self {
        self.and(DelimiterTag::OperationAttributes, name, value)
    }

    /// With an attribute of the job.
    pub(super) fn with_of_job<E>(self, name: &str, value: Result<IppValue, E>) -> Self {
        self.and(DelimiterTag::JobAttributes, name, value)
    }

    fn and<E>(mut self, group: DelimiterTag, name: &str, value: Result<IppValue, E>) -> Self {
        let attribute = value.ok().and_then(|value| IppAttribute::with_name(name, value).ok());
        match (&mut self.request, attribute) {
            (Some(request), Some(attribute)) => request.attributes_mut().add(group, attribute),
            _ => self.request = None,
        }
        self
    }

    /// With the names of the attributes that are wanted.
    pub(super) fn wanting(self, names: &[&str]) -> Self {
        let each = names.iter().map(|name| IppValue::new_keyword(*name));
        let all: Result<Vec<IppValue>, _> = each.collect();
        self.with("requested-attributes", all.map(IppValue::Array))
    }

    /// Its bytes, to be followed by the document's; none if something did not fit into it.
    pub(super) fn bytes(&self) -> Option<Vec<u8>> {
        self.request.as_ref().map(|request| request.to_bytes().to_vec())
    }
}

/// A collection of members.
pub(super) fn collection(members: Vec<(&str, IppValue)>) -> Option<IppValue> {
    let named = |(name, value): (&str, IppValue)| Some((IppName::new(name).ok()?, value));
    members.into_iter().map(named).collect::<Option<_>>().map(IppValue::Collection)
}

impl Reply {
    /// Reads an answer; none if it is not IPP.
    pub(super) fn read(bytes: Vec<u8>) -> Option<Self> {
        if !is_flat(&bytes) {
            return None;
        }
        let answer = IppParser::new(IppReader::new(Cursor::new(bytes))).parse().ok()?;
        Some(Self { status: answer.header().status_code(), answer })
    }

    /// The attributes of the printer.
    pub(super) fn of_printer(&self) -> Attributes<'_> {
        Attributes(self.answer.attributes().first_of(DelimiterTag::PrinterAttributes))
    }

    /// The attributes of each job.
    pub(super) fn of_jobs(&self) -> impl Iterator<Item = Attributes<'_>> {
        self.answer
            .attributes()
            .groups_of(DelimiterTag::JobAttributes)
            .map(|it| Attributes(Some(it)))
    }

    /// The attributes of the only job.
    pub(super) fn of_job(&self) -> Attributes<'_> {
        Attributes(self.answer.attributes().first_of(DelimiterTag::JobAttributes))
    }
}

/// A group of attributes; one that is not there has none.
#[derive(Clone, Copy)]
pub(super) struct Attributes<'r>(Option<&'r IppAttributeGroup>);

impl<'r> Attributes<'r> {
    /// The values of an attribute, one or several. Of one that is said twice the first counts.
    pub(super) fn all(self, name: &str) -> impl Iterator<Item = &'r IppValue> + use<'r> {
        let attribute = self.0.and_then(|group| group.get(name));
        let values = attribute.map_or(&[][..], |one| {
            let value = one.value();
            value.as_array().map_or(std::slice::from_ref(value), Vec::as_slice)
        });
        values.iter()
    }

    /// The words of an attribute: keywords, names and types alike.
    pub(super) fn words(self, name: &str) -> impl Iterator<Item = &'r str> + use<'r> {
        self.all(name).filter_map(word)
    }

    /// The number of an attribute.
    pub(super) fn number(self, name: &str) -> Option<i32> {
        self.all(name).find_map(number)
    }

    /// What an attribute says of yes or no.
    pub(super) fn switch(self, name: &str) -> Option<bool> {
        self.all(name).find_map(|value| value.as_boolean().copied())
    }
}

fn word(value: &IppValue) -> Option<&str> {
    if let Some(word) = value.as_keyword() {
        return Some(word.as_str());
    }
    if let Some(name) = value.as_name_without_language() {
        return Some(name.as_str());
    }
    if let Some((_, name)) = value.as_name_with_language() {
        return Some(name.as_str());
    }
    value.as_mime_media_type().map(BoundedString::as_str)
}

/// The number of a value.
pub(super) fn number(value: &IppValue) -> Option<i32> {
    value.as_integer().or_else(|| value.as_enum()).copied()
}

/// Whether the collections of a message are nested no deeper than any that is known: the parser
/// builds them as they come, and what is built is taken apart level by level.
fn is_flat(bytes: &[u8]) -> bool {
    const BEGIN: u8 = 0x34;
    const END: u8 = 0x37;
    const VALUES: u8 = 0x10;
    let mut rest = bytes.get(8..).unwrap_or_default();
    let mut depth = 0_usize;
    while let Some((tag, after)) = rest.split_first() {
        rest = after;
        if *tag < VALUES {
            continue;
        }
        match *tag {
            BEGIN => depth += 1,
            END => depth = depth.saturating_sub(1),
            _ => {}
        }
        if depth > NESTED_MOST {
            return false;
        }
        for _ in 0..2 {
            let Some((length, after)) = rest.split_first_chunk::<2>() else { return false };
            let Some(after) = after.get(usize::from(u16::from_be_bytes(*length))..) else {
                return false;
            };
            rest = after;
        }
    }
    true
}

#[cfg(test)]
mod tests {
    use super::{IppValue, Message, Operation, Reply, collection};
    use crate::print::Address;

    #[test]
    fn an_answer_that_nests_without_end_is_not_read() {
        let mut bytes = vec![1, 1, 0, 0, 0, 0, 0, 1, 4];
        bytes.extend([0x34, 0, 1, b'a', 0, 0]);
        for _ in 0..50_000 {
            bytes.extend([0x4a, 0, 0, 0, 1, b'a', 0x34, 0, 0, 0, 0]);
        }
        for _ in 0..=50_000 {
            bytes.extend([0x37, 0, 0, 0, 0]);
        }
        bytes.push(3);
        assert!(Reply::read(bytes).is_none());
        assert!(Reply::read(vec![1, 1, 0, 0, 0, 0, 0, 1, 4, 0x21, 0, 9]).is_none(), "broken off");
    }

    /// RFC 8010, section 3.1: version, operation, request id, then groups of attributes.
    #[test]
    fn a_message_begins_with_version_operation_and_id() {
        let address = Address::read("ipp://a/ipp/print").unwrap();
        let size = collection(vec![("x-dimension", IppValue::Integer(5_800))]).unwrap();
        let media = collection(vec![("media-size", size)]).ok_or(());
        let message = Message::new(Operation::PrintJob, &address).with_of_job("media-col", media);
        let bytes = message.bytes().unwrap();
        assert_eq!(bytes[..9], [1, 1, 0, 2, 0, 0, 0, 1, 1]);
        let long = IppValue::new_keyword("x".repeat(300));
        assert!(
            Message::new(Operation::GetJobs, &address).with("which-jobs", long).bytes().is_none()
        );
    }
}
