//! Who may ask: the browser that was opened with the secret address, for pages of this address alone.

use std::fmt::Write as _;

/// What a request says of itself.
#[derive(Debug, Clone, Copy, Default)]
pub struct Asked<'a> {
    /// The header `Host`.
    pub host: Option<&'a str>,
    /// The header `Origin`, where there is one.
    pub origin: Option<&'a str>,
    /// The header `Sec-Fetch-Site`, where there is one.
    pub site: Option<&'a str>,
    /// The header `Cookie`.
    pub cookie: Option<&'a str>,
    /// The header [`TOKEN_HEADER`].
    pub header: Option<&'a str>,
    /// The token in the address of the first page.
    pub query: Option<&'a str>,
    /// Whether it is for the first page.
    pub is_first_page: bool,
}

/// A program that is no browser shows the token here.
pub const TOKEN_HEADER: &str = "x-desk-token";

/// What becomes of a request.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Admission {
    /// It is answered.
    Admitted,
    /// It brought the token in its address: the browser gets it as a cookie and the address without it.
    Welcome,
    /// It is refused.
    Refused,
}

/// The secret of one start of the desk.
#[derive(Debug, Clone)]
pub struct Access {
    token: String,
    port: u16,
}

impl Access {
    /// A new secret for a port.
    ///
    /// # Errors
    /// Where the system has no random numbers.
    pub fn new(port: u16) -> Result<Self, getrandom::Error> {
        let mut bytes = [0_u8; 32];
        getrandom::fill(&mut bytes)?;
        let mut token = String::with_capacity(64);
        for byte in bytes {
            let _ = write!(token, "{byte:02x}");
        }
        Ok(Self { token, port })
    }

    /// The address to open.
    #[must_use]
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}/?token={}", self.port, self.token)
    }

    /// The cookie that stands for the token: not for scripts, not for other sites. Its name holds the port, for two desks side by side.
    #[must_use]
    pub fn cookie(&self) -> String {
        format!(
            "{}={}; Path=/; HttpOnly; SameSite=Strict",
            self.cookie_name(),
            self.token
        )
    }

    fn cookie_name(&self) -> String {
        format!("desk-{}", self.port)
    }

    /// Judges a request.
    #[must_use]
    pub fn admit(&self, asked: &Asked<'_>) -> Admission {
        let is_own_host = asked.host.is_some_and(|host| self.is_own(host));
        let is_own_origin = asked.origin.is_none_or(|origin| {
            let host = origin.strip_prefix("http://");
            host.is_some_and(|host| self.is_own(host))
        });
        let is_own_site = |own: &[&str]| asked.site.is_none_or(|site| own.contains(&site));
        if !is_own_host || !is_own_origin {
            return Admission::Refused;
        }
        if asked.is_first_page && asked.query.is_some_and(|token| self.is_token(token)) {
            return Admission::Welcome;
        }
        let shown = asked.header.or_else(|| self.in_cookies(asked.cookie?));
        let is_known = shown.is_some_and(|token| self.is_token(token));
        if is_known && is_own_site(&["same-origin", "none"]) {
            Admission::Admitted
        } else {
            Admission::Refused
        }
    }

    fn is_own(&self, host: &str) -> bool {
        let port = self.port;
        [format!("127.0.0.1:{port}"), format!("localhost:{port}")].contains(&host.to_owned())
    }

    fn in_cookies<'c>(&self, cookies: &'c str) -> Option<&'c str> {
        let name = self.cookie_name();
        let mut pairs = cookies
            .split(';')
            .filter_map(|pair| pair.trim().split_once('='));
        pairs.find(|(own, _)| *own == name).map(|(_, token)| token)
    }

    /// Compares all letters, so that the time that it takes tells nothing.
    fn is_token(&self, shown: &str) -> bool {
        let pairs = self.token.bytes().zip(shown.bytes());
        let differ = pairs.fold(0_u8, |differ, (a, b)| differ | (a ^ b));
        shown.len() == self.token.len() && differ == 0
    }
}

#[cfg(test)]
mod tests {
    use super::{Access, Admission, Asked};

    fn access() -> Access {
        Access {
            token: "ab".repeat(32),
            port: 4_000,
        }
    }

    #[test]
    fn only_the_token_from_this_address_is_admitted() {
        let cookie = format!("other=1; desk-4000={}", "ab".repeat(32));
        let good = Asked {
            host: Some("127.0.0.1:4000"),
            origin: Some("http://127.0.0.1:4000"),
            site: Some("same-origin"),
            cookie: Some(&cookie),
            ..Asked::default()
        };
        let admit = |asked: Asked<'_>| access().admit(&asked);
        assert_eq!(admit(good), Admission::Admitted);
        let bad = [
            Asked {
                host: Some("evil.example:4000"),
                ..good
            },
            Asked {
                host: Some("127.0.0.1:4001"),
                ..good
            },
            Asked { host: None, ..good },
            Asked {
                origin: Some("http://evil.example"),
                ..good
            },
            Asked {
                origin: Some("null"),
                ..good
            },
            Asked {
                origin: Some("https://127.0.0.1:4000"),
                ..good
            },
            Asked {
                site: Some("cross-site"),
                ..good
            },
            Asked {
                cookie: Some("desk-4000=abab"),
                ..good
            },
            Asked {
                cookie: Some("desk-4001=ab"),
                ..good
            },
            Asked {
                cookie: None,
                ..good
            },
            Asked {
                cookie: None,
                query: Some("ab"),
                is_first_page: true,
                ..good
            },
        ];
        for asked in bad {
            assert_eq!(admit(asked), Admission::Refused, "{asked:?}");
        }
    }

    #[test]
    fn the_first_page_welcomes_the_token_and_no_other_page_does() {
        let token = "ab".repeat(32);
        let first = Asked {
            host: Some("localhost:4000"),
            query: Some(&token),
            is_first_page: true,
            ..Asked::default()
        };
        assert_eq!(access().admit(&first), Admission::Welcome);
        let other = Asked {
            is_first_page: false,
            ..first
        };
        assert_eq!(access().admit(&other), Admission::Refused);
    }
}
