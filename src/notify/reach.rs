//! Addresses that a phone opens with a text ready to send: `sms:` (RFC 5724) and `mailto:` (RFC 6068).
use data_encoding::HEXUPPER;

use super::words::address_in;

/// The fewest and the most digits of a telephone number: ITU-T E.164 has fifteen at most; the fewest is ours.
const DIGITS: std::ops::RangeInclusive<usize> = 6..=15;

/// The first telephone number in what is known of how to reach somebody: its digits, with a plus where one leads it.
pub fn number_in(contact: &str) -> Option<String> {
    // Digits of an e-mail address are no number.
    let without: String =
        contact.split_whitespace().filter(|word| !word.contains('@')).collect::<Vec<_>>().join(" ");
    let parts = without
        .split(|c: char| !(c.is_ascii_digit() || matches!(c, '+' | ' ' | '-' | '.' | '(' | ')' | '/' | '–')));
    parts
        .map(|part| {
            let digits: String = part.chars().filter(char::is_ascii_digit).collect();
            let led = part.trim_start_matches([' ', '(', '-', '.', '/']).starts_with('+');
            (led, digits)
        })
        .find(|(_, digits)| DIGITS.contains(&digits.len()))
        .map(|(led, digits)| if led { format!("+{digits}") } else { digits })
}

/// A text to a number.
pub fn sms(number: &str, text: &str) -> String {
    format!("sms:{number}?body={}", escaped(text))
}

/// A mail to one address.
pub fn mailto(address: &str, subject: &str, text: &str) -> String {
    format!("mailto:{}?subject={}&body={}", escaped(address), escaped(subject), escaped(text))
}

/// A mail to many, of whom none reads the others' addresses; nothing where there is none.
pub fn mailto_all(contacts: &[&str], subject: &str, text: &str) -> Option<String> {
    let addresses: Vec<String> =
        contacts.iter().filter_map(|contact| address_in(contact)).map(escaped).collect();
    let all = addresses.join(",");
    (!all.is_empty())
        .then(|| format!("mailto:?bcc={all}&subject={}&body={}", escaped(subject), escaped(text)))
}

/// Octets of UTF-8 but for the unreserved (RFC 3986, 2.3) and the at sign, which both schemes leave as it is; lines end with CR LF
/// (RFC 6068, 5).
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len() * 2);
    for byte in text.replace("\r\n", "\n").replace('\n', "\r\n").bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'@' => {
                out.push(char::from(byte));
            }
            byte => {
                out.push('%');
                out.push_str(&HEXUPPER.encode(&[byte]));
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::{mailto, mailto_all, number_in, sms};

    #[test]
    fn addresses_are_written_as_their_standards_show() {
        // RFC 5724, section 2.2: sms:+15105550101?body=hello%20there
        assert_eq!(sms("+15105550101", "hello there"), "sms:+15105550101?body=hello%20there");
        // RFC 6068, section 6.1: <mailto:infobot@example.com?body=send%20current-issue>, and with
        // %0D%0A between its lines; 6.3: caf%C3%A9.
        let of = mailto("infobot@example.com", "café", "send current-issue\nsend index");
        assert_eq!(
            of,
            "mailto:infobot@example.com?subject=caf%C3%A9&body=send%20current-issue%0D%0Asend%20index"
        );
        // RFC 6068, section 2: an ampersand and a percent sign in a value are escaped.
        assert!(
            mailto("gorby%kremvax@example.com", "a&b", "")
                .starts_with("mailto:gorby%25kremvax@example.com?subject=a%26b")
        );
        let all = mailto_all(&["Bo, bo@quay.example", "by the quay", "cy@quay.example"], "Ebb", "x");
        assert_eq!(all.unwrap(), "mailto:?bcc=bo@quay.example,cy@quay.example&subject=Ebb&body=x");
        assert_eq!(mailto_all(&["by the quay"], "Ebb", "x"), None);
    }

    #[test]
    fn a_number_is_found_among_words() {
        // Numbers for stories: 555-0100 to 555-0199 (North American Numbering Plan), from memory.
        for (contact, number) in [
            ("555-0142", "5550142"),
            ("phone (201) 555 0142, after six", "2015550142"),
            ("+1 201-555-0142", "+12015550142"),
            ("ana5550100@quay.example; 555.0143", "5550143"),
            ("(+1) 201 555 0142", "+12015550142"),
        ] {
            assert_eq!(number_in(contact).as_deref(), Some(number), "{contact}");
        }
        for none in ["", "3 Sluice Lane", "Saltern Row 12, 2nd floor", "ana5550100@quay.example"] {
            assert_eq!(number_in(none), None, "{none}");
        }
    }
}
