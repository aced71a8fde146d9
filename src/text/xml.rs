//! XML documents as a tree of elements, printed by `quick-xml`, which escapes every attribute and text.

use quick_xml::Writer;
use quick_xml::events::{BytesEnd, BytesStart, BytesText, Event};

use super::wrap::markup_line;

const DECLARATION: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n";

/// An element with its attributes, and either children or a text.
#[derive(Debug, Clone)]
pub struct Element {
    tag: &'static str,
    attributes: Vec<(&'static str, String)>,
    children: Vec<Element>,
    text: Option<String>,
}

impl Element {
    /// An element without attributes.
    #[must_use]
    pub fn new(tag: &'static str) -> Self {
        Self {
            tag,
            attributes: Vec::new(),
            children: Vec::new(),
            text: None,
        }
    }

    /// The same with an attribute.
    #[must_use]
    #[expect(
        clippy::needless_pass_by_value,
        reason = "callers hand over literals and fresh texts"
    )]
    pub fn with(mut self, name: &'static str, value: impl ToString) -> Self {
        self.attributes
            .push((name, markup_line(&value.to_string())));
        self
    }

    /// The same with children after those it has.
    #[must_use]
    pub fn holding(mut self, children: impl IntoIterator<Item = Element>) -> Self {
        self.children.extend(children);
        self
    }

    /// The same with a text between its tags.
    #[must_use]
    pub fn saying(mut self, text: impl AsRef<str>) -> Self {
        self.text = Some(markup_line(text.as_ref()));
        self
    }

    /// The element on one line, without a declaration.
    #[must_use]
    pub fn on_one_line(&self) -> String {
        self.printed(Writer::new(Vec::new()))
    }

    /// A document in UTF-8 with its declaration, one element a line, two blanks deeper each.
    #[must_use]
    pub fn document(&self) -> String {
        let elements = self.printed(Writer::new_with_indent(Vec::new(), b' ', 2));
        format!("{DECLARATION}{elements}\n")
    }

    /// A document in UTF-8 with its declaration, all elements on one line.
    #[must_use]
    pub fn compact_document(&self) -> String {
        format!("{DECLARATION}{}\n", self.on_one_line())
    }

    fn printed(&self, mut writer: Writer<Vec<u8>>) -> String {
        // Writing to memory cannot fail, and what is written is text.
        let _ = self.write(&mut writer);
        String::from_utf8_lossy(&writer.into_inner()).into_owned()
    }

    fn write(&self, writer: &mut Writer<Vec<u8>>) -> std::io::Result<()> {
        let mut start = BytesStart::new(self.tag);
        for (name, value) in &self.attributes {
            start.push_attribute((*name, value.as_str()));
        }
        if self.children.is_empty() && self.text.is_none() {
            return writer.write_event(Event::Empty(start));
        }
        writer.write_event(Event::Start(start))?;
        if let Some(text) = &self.text {
            writer.write_event(Event::Text(BytesText::new(text)))?;
        }
        for child in &self.children {
            child.write(writer)?;
        }
        writer.write_event(Event::End(BytesEnd::new(self.tag)))
    }
}
