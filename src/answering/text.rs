//! The answer as plain text for tills that can only attach a note: narrow, one cup a paragraph.

use textwrap::{Options, wrap};

use crate::{
    book::Bar,
    engine::phrase::Phrase,
    label::steers,
    wire::{
        AcceptedLine, AllergenWording, AlternativeView, Answer, AnswerLine, BuildView, OrderInfo,
    },
    words::{self, Catalogue},
};

/// Columns that a line takes at most.
const COLUMNS: usize = 42;

/// Every line of the answer as a paragraph: what differs first, then the work, then the allergens.
pub(super) fn paragraphs(
    bar: &Bar,
    catalogue: &Catalogue,
    answer: &Answer<'_>,
    order: Option<&OrderInfo>,
) -> String {
    let mut note = Note { text: String::new(), catalogue };
    let reference = order.and_then(|order| order.r#ref.as_deref());
    let name = order.and_then(|order| order.name.as_deref());
    let head: Vec<&str> = reference.into_iter().chain(name).collect();
    if !head.is_empty() {
        // Set in, so that nothing that people write stands where the service speaks.
        note.line("# ", &head.join("  "));
        note.gap();
    }
    for line in &answer.lines {
        match line {
            AnswerLine::Accepted(line) => accepted(&mut note, bar, line),
            AnswerLine::Asked(line) => {
                note.line("", &format!("{}: {}", line.line, note.say(Phrase::LabelAsk)));
                note.line("  ", &line.question);
                choices(&mut note, &line.choices);
            }
            AnswerLine::Refused(line) => {
                let label = if line.safety { Phrase::LabelSafety } else { Phrase::LabelRefused };
                note.line("", &format!("{}: {}", line.line, note.say(label)));
                for refusal in &line.refusals {
                    note.line("  ", &refusal.text);
                }
                choices(&mut note, &line.alternatives);
                if line.alternatives.is_empty() {
                    note.line("  ", &note.say(Phrase::LabelNoWay));
                }
            }
        }
        note.gap();
    }
    note.text.trim_end().to_owned() + "\n"
}

/// Lines of text that never grow too wide.
struct Note<'a> {
    text: String,
    catalogue: &'a Catalogue,
}

impl Note<'_> {
    fn say(&self, phrase: Phrase) -> String {
        words::gaps(self.catalogue, phrase, &[])
    }

    /// Adds `text` after `head`; what does not fit goes on under it.
    fn line(&mut self, head: &str, text: &str) {
        let indent = " ".repeat(head.chars().count());
        let options = Options::new(COLUMNS).initial_indent(head).subsequent_indent(&indent);
        let clean: String = text.chars().map(|c| if steers(c) { ' ' } else { c }).collect();
        for line in wrap(&clean, options) {
            self.text.push_str(line.trim_end());
            self.text.push('\n');
        }
    }

    fn gap(&mut self) {
        self.text.push('\n');
    }
}

fn choices(note: &mut Note<'_>, all: &[AlternativeView]) {
    let head = format!("  {} ", note.say(Phrase::LabelOr));
    for one in all {
        note.line(&head, &one.text);
    }
}

fn accepted(note: &mut Note<'_>, bar: &Bar, line: &AcceptedLine<'_>) {
    let quantity = line.canonical.quantity;
    let each = if quantity == 1 { String::new() } else { format!("{quantity} x ") };
    let drink = bar.drink(&line.canonical.drink);
    let name = drink.map_or("", |drink| drink.names.in_lang(&note.catalogue.lang));
    note.line("", &format!("{}: {each}{name}", line.line));
    for id in line.allergy.iter().flat_map(|allergy| &allergy.declared) {
        let name = words::declared(bar, &note.catalogue.lang, id);
        note.line("", &format!("{}: {}", note.say(Phrase::LabelAllergy), name.to_uppercase()));
    }
    if !line.overridden.is_empty() {
        let reason = line.canonical.override_reason.as_deref().unwrap_or_default();
        note.line("", &format!("OVERRIDE. {}: {reason}", note.say(Phrase::LabelReason)));
    }
    for one in &line.overridden {
        note.line("  ! ", &one.text);
    }
    for change in line.build.iter().flat_map(|build| &build.changes) {
        note.line("  * ", change);
    }
    for notice in line.notices.iter().filter(|notice| notice.severity == "caution") {
        note.line("  ! ", &notice.text);
    }
    if let Some(text) = &line.canonical.note {
        note.line("  ", &format!("{}: {text}", note.say(Phrase::LabelNote)));
    }
    // Verdicts alone have no work and no allergens to tell.
    let Some(build) = &line.build else { return };
    for step in &build.steps {
        note.line(&format!("{:>2} ", step.n), &step.text);
    }
    allergens(note, build);
}

fn allergens(note: &mut Note<'_>, build: &BuildView<'_>) {
    let AllergenWording { contains, may_contain, shared_equipment } = &build.allergens.wording;
    for sentence in [contains, may_contain, shared_equipment].into_iter().flatten() {
        note.line("  ", sentence);
    }
}
