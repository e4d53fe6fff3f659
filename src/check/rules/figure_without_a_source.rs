//! Reports dose figures of a herb that cite no source.

use crate::check::Scope;
use crate::code;
use crate::diagnostic::Diagnostic;

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for substance in scope.ledger.substances.iter().filter(|substance| !substance.cited) {
        let doses = substance.doses.iter().map(|line| (line.cited, line.span));
        let mosts = substance.mosts.iter().map(|line| (line.cited, line.span));
        let bare: Vec<_> = doses.chain(mosts).filter(|(cited, _)| !cited).map(|(_, span)| span).collect();
        let Some((first, others)) = bare.split_first() else { continue };
        let mut finding = Diagnostic::notice(
            code::FIGURE_WITHOUT_A_SOURCE,
            *first,
            format!("nothing says where this dose of {} comes from", substance.name),
        );
        for span in others {
            finding = finding.related(*span, "nor this one");
        }
        report.push(finding.help("put two blanks, `source` and a declared source at the end of the line"));
    }
}
