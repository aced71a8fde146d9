//! XML elements as task data needs them: attributes of one letter, no text.

use crate::deliver::escape::markup;

/// An element with its attributes and children.
#[derive(Debug, Clone)]
pub struct Element {
    tag: &'static str,
    attributes: Vec<(&'static str, String)>,
    children: Vec<Element>,
}

impl Element {
    /// An element without attributes.
    #[must_use]
    pub fn new(tag: &'static str) -> Self {
        Self {
            tag,
            attributes: Vec::new(),
            children: Vec::new(),
        }
    }

    /// The same with an attribute.
    #[must_use]
    #[expect(
        clippy::needless_pass_by_value,
        reason = "callers hand over literals and fresh texts"
    )]
    pub fn with(mut self, name: &'static str, value: impl ToString) -> Self {
        self.attributes.push((name, value.to_string()));
        self
    }

    /// The same with children after those it has.
    #[must_use]
    pub fn holding(mut self, children: impl IntoIterator<Item = Element>) -> Self {
        self.children.extend(children);
        self
    }

    /// Appends the element as indented XML.
    pub fn push_to(&self, out: &mut String, depth: usize) {
        out.extend(std::iter::repeat_n(' ', depth * 2));
        out.push('<');
        out.push_str(self.tag);
        for (name, value) in &self.attributes {
            out.push(' ');
            out.push_str(name);
            out.push_str("=\"");
            out.push_str(&markup(value));
            out.push('"');
        }
        if self.children.is_empty() {
            out.push_str("/>\n");
            return;
        }
        out.push_str(">\n");
        self.children
            .iter()
            .for_each(|child| child.push_to(out, depth + 1));
        out.extend(std::iter::repeat_n(' ', depth * 2));
        out.push_str("</");
        out.push_str(self.tag);
        out.push_str(">\n");
    }
}
