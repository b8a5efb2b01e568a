//! Text between tags and in quoted attributes.

/// A text as XML has it (Extensible Markup Language 1.0, section 2.4), and HTML (section 13.3).
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // XML has no other controls, not even as references, and not these two (section 2.2).
            c if c.is_control() && !matches!(c, '\t' | '\n') => out.push(' '),
            '\u{fffe}' | '\u{ffff}' => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::escaped;

    #[test]
    fn what_markup_would_take_for_its_own_is_escaped() {
        assert_eq!(escaped("<b a=\"1\" c='2'>&"), "&lt;b a=&quot;1&quot; c=&#39;2&#39;&gt;&amp;");
        assert_eq!(escaped("a\u{0}b\u{ffff}c\td"), "a b c\td");
    }
}
