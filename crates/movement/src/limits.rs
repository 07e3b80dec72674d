//! Limits on the size and shape of a text, checked before anything else reads it.

use crate::diagnostic::Diagnostic;
use crate::place::Lines;

/// Largest movement file read, in bytes.
pub const MAX_BYTES: usize = 1 << 20;

/// Deepest nesting of brackets and braces read. A movement file needs none but inline tables.
pub const MAX_NESTING: usize = 8;

/// The fault of a text that is too large to be read at all.
pub(crate) fn too_large(source: &str, bytes: usize) -> Option<Diagnostic> {
    (bytes > MAX_BYTES).then(|| {
        Diagnostic::error("too-large", format!("{source} is too large to be a movement file"))
            .value(format!("{bytes} bytes"))
            .allowed(format!("up to {MAX_BYTES} bytes"))
            .hint("give a movement file; measured data does not belong in it")
    })
}

/// The fault of a text whose brackets nest too deep, at the bracket that is one too many.
pub(crate) fn too_deep(lines: &Lines<'_>, text: &str) -> Option<Diagnostic> {
    let mut depth = 0_usize;
    let mut rest = Scan { bytes: text.as_bytes(), at: 0 };
    while let Some((at, byte)) = rest.next_outside_strings() {
        match byte {
            b'[' | b'{' => depth += 1,
            b']' | b'}' => depth = depth.saturating_sub(1),
            _ => {}
        }
        if depth > MAX_NESTING {
            let fault = Diagnostic::error("too-deep", "brackets are nested too deep")
                .value(format!("{depth} levels"))
                .allowed(format!("up to {MAX_NESTING} levels"))
                .hint("parameters are single numbers and words: no lists are needed")
                .at(lines.place(at..at + 1, ""));
            return Some(fault);
        }
    }
    None
}

/// Runs over a TOML text, skipping comments and strings.
struct Scan<'t> {
    bytes: &'t [u8],
    at: usize,
}

impl Scan<'_> {
    fn next_outside_strings(&mut self) -> Option<(usize, u8)> {
        loop {
            let at = self.at;
            let byte = *self.bytes.get(at)?;
            self.at += 1;
            match byte {
                b'#' => self.skip_past(b"\n", false, false),
                b'"' | b'\'' => {
                    let escapes = byte == b'"';
                    if self.bytes[at..].starts_with(&[byte; 3]) {
                        self.at = at + 3;
                        self.skip_past(&[byte; 3], escapes, false);
                    } else {
                        self.skip_past(&[byte], escapes, true);
                    }
                }
                _ => return Some((at, byte)),
            }
        }
    }

    /// Moves past the next `end`, or past the end of the line when `on_line`.
    fn skip_past(&mut self, end: &[u8], escapes: bool, on_line: bool) {
        while self.at < self.bytes.len() {
            let rest = &self.bytes[self.at..];
            if rest.starts_with(end) {
                self.at += end.len();
                return;
            }
            if on_line && rest[0] == b'\n' {
                return;
            }
            self.at += if escapes && rest[0] == b'\\' { 2 } else { 1 };
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fault(text: &str) -> Option<Diagnostic> {
        too_deep(&Lines::new("t", text), text)
    }

    #[test]
    fn brackets_in_strings_and_comments_do_not_count() {
        let open = "[{".repeat(40);
        for text in [
            format!("a = \"{open}\""),
            format!("a = '{open}'"),
            format!("a = \"\\\"{open}\""),
            format!("# {open}\na = 1"),
            format!("a = \"\"\"\n{open}\n\"{open}\"\"\""),
            format!("a = '''\n{open}\n'{open}'''"),
        ] {
            assert_eq!(fault(&text), None, "{text}");
        }
        assert!(fault(&format!("a = {open}")).is_some());
        assert!(fault(&format!("a = \"unclosed\nb = {open}")).is_some());
    }

    #[test]
    fn deepest_allowed_nesting() {
        assert_eq!(fault(&"[".repeat(MAX_NESTING)), None);
        let place = fault(&format!("\n{}", "[".repeat(MAX_NESTING + 1))).and_then(|d| d.place).unwrap();
        assert_eq!((place.line, place.column as usize), (2, MAX_NESTING + 1));
    }
}
