//! Merges three versions of a list of pieces: the one that both sides began with, ours, and theirs.

use super::cut::{Node, Outline, end_line, single_blanks};

/// A stretch of the merged text.
#[derive(Debug, Clone)]
pub enum Piece {
    /// Text that is settled, and what it says.
    Settled(Side),
    /// Text that both changed, each in their own way.
    Conflict(Side, Side),
}

/// A text, and what it says.
#[derive(Debug, Clone, Default)]
pub struct Side {
    /// The text.
    pub text: String,
    /// What it says.
    pub outline: Outline,
}

/// Whose version is taken where both changed something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Whose {
    /// Ours.
    Ours,
    /// Theirs.
    Theirs,
}

/// What a piece may be in the three versions.
#[derive(Debug, Clone, Copy, Default)]
struct Versions<'a> {
    base: Option<&'a Node>,
    ours: Option<&'a Node>,
    theirs: Option<&'a Node>,
}

/// The lists of one entry or of the whole file.
#[derive(Debug, Clone, Copy)]
pub struct Lists<'a> {
    /// What both began with.
    pub base: &'a [Node],
    /// Ours.
    pub ours: &'a [Node],
    /// Theirs.
    pub theirs: &'a [Node],
}

/// A merged member of a list: its pieces, and which versions there were.
pub struct Member<'a> {
    /// The merged text.
    pub pieces: Vec<Piece>,
    /// What both began with.
    pub base: Option<&'a Node>,
    /// Ours.
    pub ours: Option<&'a Node>,
    /// Theirs.
    pub theirs: Option<&'a Node>,
}

/// Merges the lists member by member; nothing where both put the same members into different orders
/// and the order may matter.
pub fn members(lists: Lists<'_>, depth: usize) -> Option<Vec<Member<'_>>> {
    let (versions, ours, theirs) = told_apart(lists);
    let base_order = |order: &[usize]| -> Vec<usize> {
        let known = |at: &usize| *at < lists.base.len();
        order.iter().copied().filter(known).collect()
    };
    let moved = |order: &[usize]| !base_order(order).is_sorted();
    let both = |one: &[usize], other: &[usize]| -> Vec<usize> {
        one.iter().copied().filter(|at| other.contains(at)).collect()
    };
    // The order of entries means nothing; that of lines may.
    if depth > 0 && moved(&ours) && moved(&theirs) && both(&ours, &theirs) != both(&theirs, &ours) {
        return None;
    }
    let order = if moved(&theirs) && !moved(&ours) {
        interleaved(&theirs, &ours, lists.base.len())
    } else {
        interleaved(&ours, &theirs, lists.base.len())
    };
    Some(
        order
            .into_iter()
            .filter_map(|at| versions.get(at))
            .map(|one| Member {
                pieces: resolved(*one, depth),
                base: one.base,
                ours: one.ours,
                theirs: one.theirs,
            })
            .collect(),
    )
}

/// Finds out which members of the three lists are the same one. Gives all members, those of the base
/// first, and the order in which each side has them.
fn told_apart<'a>(lists: Lists<'a>) -> (Vec<Versions<'a>>, Vec<usize>, Vec<usize>) {
    let mut versions: Vec<Versions<'a>> = lists
        .base
        .iter()
        .map(|base| Versions {
            base: Some(base),
            ..Versions::default()
        })
        .collect();
    let mut ours = Vec::new();
    for (node, at) in lists.ours.iter().zip(aligned(lists.base, lists.ours)) {
        let at = at.unwrap_or(versions.len());
        ours.push(at);
        match versions.get_mut(at) {
            Some(known) => known.ours = Some(node),
            None => versions.push(Versions {
                ours: Some(node),
                ..Versions::default()
            }),
        }
    }
    let mut theirs = Vec::new();
    for (node, at) in lists.theirs.iter().zip(aligned(lists.base, lists.theirs)) {
        // Both may have added the same.
        let at = at.or_else(|| {
            versions.iter().position(|one| {
                one.base.is_none()
                    && one.theirs.is_none()
                    && one.ours.is_some_and(|ours| {
                        ours.key == node.key && (!node.repeats || ours.outline(0) == node.outline(0))
                    })
            })
        });
        let at = at.unwrap_or(versions.len());
        theirs.push(at);
        match versions.get_mut(at) {
            Some(known) => known.theirs = Some(node),
            None => versions.push(Versions {
                theirs: Some(node),
                ..Versions::default()
            }),
        }
    }
    (versions, ours, theirs)
}

/// Which member of the base each member of a side is: by its key; of several with the same key by what
/// they say, then in their order, if as many are left on both sides.
fn aligned(base: &[Node], side: &[Node]) -> Vec<Option<usize>> {
    let mut found: Vec<Option<usize>> = vec![None; side.len()];
    let mut free: Vec<bool> = vec![true; base.len()];
    let mut keys: Vec<&str> = side.iter().map(|node| node.key.as_str()).collect();
    keys.sort_unstable();
    keys.dedup();
    for key in keys {
        let of_key = |list: &[Node]| -> Vec<usize> {
            (0..list.len())
                .filter(|at| list.get(*at).is_some_and(|node| node.key == key))
                .collect()
        };
        let (mut was, mut is) = (of_key(base), of_key(side));
        is.retain(|at| {
            let same = was.iter().position(|old| {
                base.get(*old).map(|node| node.outline(0)) == side.get(*at).map(|node| node.outline(0))
            });
            let Some(same) = same else {
                return true;
            };
            let old = was.remove(same);
            set(&mut found, *at, old, &mut free);
            false
        });
        if was.len() == is.len() {
            for (old, at) in was.into_iter().zip(is) {
                set(&mut found, at, old, &mut free);
            }
        }
    }
    found
}

fn set(found: &mut [Option<usize>], at: usize, old: usize, free: &mut [bool]) {
    if let (Some(place), Some(free)) = (found.get_mut(at), free.get_mut(old))
        && std::mem::take(free)
    {
        *place = Some(old);
    }
}

/// The members of the first order, with those that only the second has, each after the one that it
/// stands after there; behind what the first added at the same place.
fn interleaved(first: &[usize], second: &[usize], base: usize) -> Vec<usize> {
    let mut order = first.to_vec();
    let mut above: Option<usize> = None;
    for one in second {
        if !order.contains(one) {
            let mut at = above
                .and_then(|above| order.iter().position(|other| *other == above))
                .map_or(0, |at| at.saturating_add(1));
            while order
                .get(at)
                .is_some_and(|next| *next >= base && !second.contains(next))
            {
                at = at.saturating_add(1);
            }
            order.insert(at, *one);
        }
        above = Some(*one);
    }
    order
}

fn resolved(versions: Versions<'_>, depth: usize) -> Vec<Piece> {
    let Versions { base, ours, theirs } = versions;
    match (base, ours, theirs) {
        (Some(base), Some(ours), Some(theirs)) => changed(base, ours, theirs, depth),
        (None, Some(ours), Some(theirs)) => {
            let lead = merged_lead("", &ours.lead, &theirs.lead);
            if ours.bare() == theirs.bare() {
                vec![lead_piece(lead), settled(ours, depth)]
            } else {
                vec![
                    lead_piece(lead),
                    Piece::Conflict(side(ours, depth), side(theirs, depth)),
                ]
            }
        }
        (None, Some(one), None) | (None, None, Some(one)) => {
            vec![lead_piece(one.lead.clone()), settled(one, depth)]
        }
        (Some(base), Some(kept), None) => gone(base, kept, Whose::Ours, depth),
        (Some(base), None, Some(kept)) => gone(base, kept, Whose::Theirs, depth),
        (_, None, None) => Vec::new(),
    }
}

/// One side took it out. What the other side did to it is not lost.
fn gone(base: &Node, kept: &Node, by: Whose, depth: usize) -> Vec<Piece> {
    if base.bare() == kept.bare() {
        let new = new_comments(&base.lead, "", &kept.lead);
        return vec![lead_piece(new)];
    }
    let (mine, none) = (side(kept, depth), Side::default());
    let conflict = match by {
        Whose::Ours => Piece::Conflict(mine, none),
        Whose::Theirs => Piece::Conflict(none, mine),
    };
    vec![lead_piece(kept.lead.clone()), conflict]
}

/// It is there in all three.
fn changed(base: &Node, ours: &Node, theirs: &Node, depth: usize) -> Vec<Piece> {
    let mut pieces = vec![lead_piece(merged_lead(&base.lead, &ours.lead, &theirs.lead))];
    if let Some(one) =
        either(base, ours, theirs, Node::text).or_else(|| either(base, ours, theirs, Node::bare))
    {
        pieces.push(settled(one, depth));
        return pieces;
    }
    let whole = Piece::Conflict(side(ours, depth), side(theirs, depth));
    let body = either(base, ours, theirs, |node| node.body.clone())
        .or_else(|| either(base, ours, theirs, |node| single_blanks(&node.body)));
    let lists = Lists {
        base: &base.children,
        ours: &ours.children,
        theirs: &theirs.children,
    };
    let has_children = !lists.base.is_empty() || !lists.ours.is_empty() || !lists.theirs.is_empty();
    match (body, members(lists, depth.saturating_add(1))) {
        (Some(body), Some(members)) if has_children => {
            pieces.push(Piece::Settled(Side {
                text: body.body.clone(),
                outline: vec![(depth, body.words.clone())],
            }));
            pieces.extend(members.into_iter().flat_map(|member| member.pieces));
        }
        _ => pieces.push(whole),
    }
    pieces
}

/// The side that changed it, if only one did, or both in the same way.
fn either<'a>(
    base: &'a Node,
    ours: &'a Node,
    theirs: &'a Node,
    look: impl Fn(&Node) -> String,
) -> Option<&'a Node> {
    let (was, mine, other) = (look(base), look(ours), look(theirs));
    if mine == was {
        Some(theirs)
    } else if other == was || mine == other {
        Some(ours)
    } else {
        None
    }
}

fn side(node: &Node, depth: usize) -> Side {
    Side {
        text: node.text(),
        outline: node.outline(depth),
    }
}

fn settled(node: &Node, depth: usize) -> Piece {
    Piece::Settled(side(node, depth))
}

fn lead_piece(text: String) -> Piece {
    Piece::Settled(Side {
        text,
        outline: Vec::new(),
    })
}

/// Comments and blank lines: of the side that changed them; where both did, ours and what they added.
pub fn merged_lead(base: &str, ours: &str, theirs: &str) -> String {
    if ours == base {
        return theirs.to_owned();
    }
    let mut lead = ours.to_owned();
    if theirs != base {
        let new = new_comments(base, ours, theirs);
        if !new.is_empty() {
            end_line(&mut lead);
        }
        lead.push_str(&new);
    }
    lead
}

/// The lines with comments that neither of the first two holds.
fn new_comments(base: &str, ours: &str, theirs: &str) -> String {
    let holds = |text: &str, line: &str| text.lines().any(|one| one.trim() == line.trim());
    let mut new = String::new();
    for line in theirs.lines() {
        if !line.trim().is_empty() && !holds(base, line) && !holds(ours, line) {
            new.push_str(line);
            new.push('\n');
        }
    }
    new
}
