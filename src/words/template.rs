//! A template: text with named gaps, parsed once.

/// A sentence with gaps such as `{cup}`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Template(Vec<Piece>);

#[derive(Clone, Debug, PartialEq, Eq)]
enum Piece {
    Text(String),
    Gap(String),
}

impl Template {
    /// Parses a template; a brace that is never closed is text.
    pub(super) fn parse(text: &str) -> Self {
        let (mut pieces, mut rest) = (Vec::new(), text);
        while let Some((before, after)) = rest.split_once('{') {
            let Some((gap, after)) = after.split_once('}') else { break };
            if !before.is_empty() {
                pieces.push(Piece::Text(before.to_owned()));
            }
            pieces.push(Piece::Gap(gap.to_owned()));
            rest = after;
        }
        if !rest.is_empty() {
            pieces.push(Piece::Text(rest.to_owned()));
        }
        Self(pieces)
    }

    /// The names of its gaps.
    pub(super) fn gaps(&self) -> impl Iterator<Item = &str> {
        self.0.iter().filter_map(|piece| match piece {
            Piece::Gap(name) => Some(name.as_str()),
            Piece::Text(_) => None,
        })
    }

    /// The sentence with each gap filled by `fill`, which appends to the text.
    pub(super) fn fill(&self, mut fill: impl FnMut(&str, &mut String)) -> String {
        let mut out = String::with_capacity(96);
        for piece in &self.0 {
            match piece {
                Piece::Text(text) => out.push_str(text),
                Piece::Gap(name) => fill(name, &mut out),
            }
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::Template;

    #[test]
    fn gaps_are_filled_where_they_stand_and_a_lone_brace_is_text() {
        let template = Template::parse("Put {g} g in the {cup}. {");
        assert_eq!(template.gaps().collect::<Vec<_>>(), ["g", "cup"]);
        assert_eq!(template.fill(|gap, out| out.push_str(gap)), "Put g g in the cup. {");
    }
}
