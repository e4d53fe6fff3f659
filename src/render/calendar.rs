//! Turns days into a calendar that other programs read: iCalendar, RFC 5545.

/// What happens on a day, the whole day long.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Event {
    /// A name of its own that stays the same from one calendar to the next.
    pub uid: String,
    /// The day, `20261103`.
    pub day: String,
    /// The day after it.
    pub day_after: String,
    /// The day on which what it speaks of was written down: it must not change with the clock.
    pub stamp: String,
    /// What happens.
    pub summary: String,
    /// What else there is to say.
    pub description: String,
}

/// Prints a calendar: lines end in CRLF and are folded at 75 bytes (section 3.1).
pub fn print(product: &str, events: &[Event]) -> String {
    let mut out = String::new();
    let mut line = |text: &str| fold(text, &mut out);
    line("BEGIN:VCALENDAR");
    line("VERSION:2.0");
    line(&format!("PRODID:{}", text(product)));
    line("CALSCALE:GREGORIAN");
    for event in events {
        line("BEGIN:VEVENT");
        line(&format!("UID:{}", text(&event.uid)));
        line(&format!("DTSTAMP:{}T000000Z", event.stamp));
        line(&format!("DTSTART;VALUE=DATE:{}", event.day));
        line(&format!("DTEND;VALUE=DATE:{}", event.day_after));
        line(&format!("SUMMARY:{}", text(&event.summary)));
        line(&format!("DESCRIPTION:{}", text(&event.description)));
        line("TRANSP:TRANSPARENT");
        line("END:VEVENT");
    }
    line("END:VCALENDAR");
    out
}

/// A value of the type TEXT (section 3.3.11); control characters can't stand in it.
fn text(value: &str) -> String {
    let mut out = String::with_capacity(value.len());
    for letter in value.chars() {
        match letter {
            '\\' | ';' | ',' => {
                out.push('\\');
                out.push(letter);
            }
            '\n' => out.push_str("\\n"),
            letter if letter.is_control() => out.push(' '),
            letter => out.push(letter),
        }
    }
    out
}

/// Adds a line, broken before the 76th byte and never inside a letter.
fn fold(line: &str, out: &mut String) {
    let mut room = 75_usize;
    for letter in line.chars() {
        let bytes = letter.len_utf8();
        if bytes > room {
            out.push_str("\r\n ");
            // The blank that opens the line counts.
            room = 74;
        }
        out.push(letter);
        room = room.saturating_sub(bytes);
    }
    out.push_str("\r\n");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_folded_between_letters() {
        let event = Event {
            uid: "lot-1".into(),
            day: "20261103".into(),
            day_after: "20261104".into(),
            stamp: "20260101".into(),
            summary: "кипрей, ".repeat(30),
            description: "a; b\\c\nd\u{7}".into(),
        };
        let printed = print("test", &[event]);
        assert!(printed.ends_with("END:VCALENDAR\r\n"));
        for line in printed.split_terminator("\r\n") {
            assert!(line.len() <= 75, "{line}");
            assert!(!line.contains(['\r', '\n']));
        }
        let unfolded = printed.replace("\r\n ", "");
        assert!(unfolded.contains(&format!("SUMMARY:{}", "кипрей\\, ".repeat(30))));
        assert!(unfolded.contains("DESCRIPTION:a\\; b\\\\c\\nd \r\n"));
    }
}
