use std::io::IsTerminal;

/// When to use colors.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ColorChoice {
    /// On a terminal, unless `NO_COLOR` is set to anything or `TERM` is `dumb`.
    #[default]
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

impl ColorChoice {
    /// The word on the command line.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Auto => "auto",
            Self::Always => "always",
            Self::Never => "never",
        }
    }

    /// Whether a stream gets colors.
    pub(super) fn applies_to(self, stream: &impl IsTerminal) -> bool {
        let is_set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
        match self {
            Self::Always => true,
            Self::Never => false,
            Self::Auto => {
                stream.is_terminal()
                    && !is_set("NO_COLOR")
                    && std::env::var_os("TERM").is_none_or(|term| term != "dumb")
            }
        }
    }
}

/// What a piece of text is; the terminal decides how that looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Tone {
    /// Plain text.
    #[default]
    Plain,
    /// A heading or a name.
    Strong,
    /// Of lesser weight.
    Faint,
    /// Wants an eye.
    Look,
    /// Is wrong.
    Wrong,
}

impl Tone {
    /// The escape sequence that begins it; none for plain text.
    pub(super) fn sequence(self) -> Option<&'static str> {
        match self {
            Self::Plain => None,
            Self::Strong => Some("\x1b[1m"),
            Self::Faint => Some("\x1b[2m"),
            Self::Look => Some("\x1b[33m"),
            Self::Wrong => Some("\x1b[1;31m"),
        }
    }
}
