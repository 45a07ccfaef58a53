//! Words on a sheet: what XML allows, how wide they are, and lines.

/// Text as XML allows it: five characters escaped, those that XML has no place for left out.
pub(super) fn escaped(s: &str) -> String {
    let mut out = String::with_capacity(s.len());
    for c in s.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            '\u{FFFE}' | '\u{FFFF}' => {}
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out
}

/// Width of words in a wide sans-serif: an estimate from above, since the reader's font is not known.
pub(super) fn width(words: &str, size: f64) -> f64 {
    let part = |c: char| match c {
        ' ' | 'i' | 'j' | 'l' | '.' | ',' | ':' | ';' | '\'' | '|' => 0.34,
        'f' | 'r' | 't' | '(' | ')' | '-' | 'I' | '!' => 0.42,
        'm' | 'w' | 'M' | 'W' | '%' | '@' => 1.0,
        'A'..='Z' | '&' | '#' | '+' | '<' | '=' | '>' | '^' | '~' => 0.84,
        c if c as u32 > 0x7f && c as u32 <= 0x2ff => 0.84,
        c if c as u32 > 0x2ff => 1.05,
        _ => 0.64,
    };
    words.chars().filter(|c| !c.is_control()).map(part).sum::<f64>() * size
}

/// Words in lines no wider than `most`; a single word that is too long is cut.
pub(super) fn wrapped(words: &str, size: f64, most: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        let mut word = word.to_string();
        while width(&word, size) > most && word.chars().count() > 1 {
            let mut head = String::new();
            while let Some(c) =
                word.chars().next().filter(|c| head.is_empty() || width(&head, size) + width(&c.to_string(), size) <= most)
            {
                head.push(c);
                word.remove(0);
            }
            lines.push(head);
        }
        match lines.last_mut() {
            Some(line) if width(line, size) + width(&word, size) + 0.34 * size <= most => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    lines
}
