//! Reports the cautions of a formula that bear on the person it is for.

use crate::check::Scope;
use crate::code;
use crate::compute::Composition;
use crate::compute::caution::{Assessed, Bearing, assess, topic};
use crate::diagnostic::Diagnostic;
use crate::model::{Level, Person};

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    // What holds an error has no figures, and its cautions stand all the same.
    for composition in scope.readable() {
        let composition = composition.as_ref();
        for_everyone(scope, composition, report);
        let Some(person) = scope.person_of(&composition.formula) else { continue };
        let assessed = assess(scope.ledger, scope.figures, composition, Some(person));
        let mut open: Vec<&Assessed> = assessed
            .iter()
            .filter(|one| matches!(one.bearing, Bearing::ThisPerson(_)))
            .collect();
        // One finding for each topic and level, however many herbs share it.
        while let Some(first) = open.first().copied() {
            let (same, rest): (Vec<&Assessed>, Vec<&Assessed>) = open
                .into_iter()
                .partition(|one| one.level == first.level && one.topic == first.topic && one.accepted == first.accepted);
            report.push(finding(scope, composition, person, first, &same));
            open = rest;
        }
    }
}

/// What nobody should take is no matter of who asks.
fn for_everyone(scope: &Scope<'_>, composition: &Composition, report: &mut Vec<Diagnostic>) {
    let person = scope.person_of(&composition.formula);
    for one in assess(scope.ledger, scope.figures, composition, person) {
        // A topic that isn't understood is said as that, once, and decides for nobody.
        if one.bearing != Bearing::Everyone || one.level != Level::Avoid || topic(scope.ledger, &one.topic).is_none() {
            continue;
        }
        let said = one.text.as_ref().map(|text| format!(": {text}")).unwrap_or_default();
        let reason = one.accepted.as_ref().and_then(|acceptance| acceptance.reason.clone());
        let message = format!(
            "{} is to be avoided by everyone: {}, {}{said}",
            composition.formula.name.text,
            one.topic,
            scope.herb(one.substance)
        );
        let span = scope.line_of(composition, one.substance);
        let finding = match reason {
            None => Diagnostic::error(code::NOT_FOR_ANYONE, span, message)
                .help(otherwise("leave the herb out", &one)),
            Some(reason) => {
                Diagnostic::warning(code::NOT_FOR_ANYONE, span, format!("{message}; accepted: {reason}"))
            }
        };
        let finding = match one.span {
            Some(line) => finding.related(line, format!("stated for {}", scope.herb(one.substance))),
            None => finding,
        };
        report.push(beside_what_lapsed(finding, &one));
    }
}

fn finding(
    scope: &Scope<'_>,
    composition: &Composition,
    person: &Person,
    first: &Assessed,
    same: &[&Assessed],
) -> Diagnostic {
    let herbs: Vec<String> = same
        .iter()
        .map(|one| match &one.text {
            Some(text) => format!("{}: {text}", scope.herb(one.substance)),
            None => scope.herb(one.substance).to_owned(),
        })
        .collect();
    let Bearing::ThisPerson(because) = &first.bearing else {
        return Diagnostic::notice(code::MIND_FOR_THIS_PERSON, composition.formula.head, "nothing bears on this person");
    };
    let who = person.code.as_ref().map_or_else(|| "this person".to_owned(), |code| format!("person {code}"));
    let span = scope.line_of(composition, first.substance);
    let said = format!("{} ({who} {because}): {}", first.topic, herbs.join("; "));
    let name = &composition.formula.name.text;
    let reason = first.accepted.as_ref().and_then(|acceptance| acceptance.reason.clone());
    let mut finding = match (first.level, &reason) {
        (Level::Avoid, None) => Diagnostic::error(
            code::NOT_FOR_THIS_PERSON,
            span,
            format!("{name} is not for {who}: {said}"),
        )
        .help(otherwise("leave the herb out, or choose another blend", first)),
        (Level::Avoid, Some(reason)) => Diagnostic::warning(
            code::NOT_FOR_THIS_PERSON,
            span,
            format!("{name} is to be avoided, and was accepted ({reason}): {said}"),
        )
        .help("it stays on every sheet: look again each time whether the reason still holds"),
        (Level::Consult, None) => Diagnostic::warning(
            code::ASK_FIRST_FOR_THIS_PERSON,
            span,
            format!("ask first before giving {name}: {said}"),
        )
        .help(format!(
            "seek advice before it is given; then write the reason into the formula: `accept   {}: …`",
            first.topic
        )),
        (Level::Mind, None) => {
            Diagnostic::notice(code::MIND_FOR_THIS_PERSON, span, format!("tell the person before giving {name}: {said}"))
                .help(format!("when they have been told, it may be noted in the formula: `accept   {}: person told`", first.topic))
        }
        (level, Some(reason)) => Diagnostic::notice(
            if level == Level::Consult {
                code::ASK_FIRST_FOR_THIS_PERSON
            } else {
                code::MIND_FOR_THIS_PERSON
            },
            span,
            format!("{name}, accepted ({reason}): {said}"),
        ),
    };
    for one in same.iter().take(4) {
        if let Some(line) = one.span {
            finding = finding.related(line, format!("stated for {}", scope.herb(one.substance)));
        }
    }
    match same.iter().find(|one| one.lapsed.is_some()) {
        Some(one) => beside_what_lapsed(finding, one),
        None => finding,
    }
}

/// What to do about what is to be avoided; where the adapted formula accepts it, that this one doesn't.
fn otherwise(help: &str, one: &Assessed) -> String {
    match &one.lapsed {
        None => format!("{help}; only a licensed practitioner may decide otherwise"),
        Some(lapsed) => format!(
            "{help}; {} accepts it, and an adaptation doesn't take that over: only a licensed practitioner may decide it anew, and \
             then writes it here, `accept   {}: …`",
            lapsed.formula, lapsed.topic
        ),
    }
}

/// The line of the adapted formula that accepts it, and doesn't here.
fn beside_what_lapsed(finding: Diagnostic, one: &Assessed) -> Diagnostic {
    match &one.lapsed {
        Some(lapsed) => finding.related(lapsed.span, format!("accepted for {}, and not here", lapsed.formula)),
        None => finding,
    }
}
