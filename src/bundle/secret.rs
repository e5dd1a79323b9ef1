//! Names and passwords of networks in text, found by the words they stand behind.

use std::ops::Range;

/// Words behind which something secret stands, in lower case.
const WORDS: [&str; 40] = [
    "ssid",
    "bssid",
    "essid",
    "psk",
    "passphrase",
    "password",
    "passwd",
    "passcode",
    "pass",
    "pwd",
    "pw",
    "wpa",
    "wpa2",
    "wpa3",
    "wep",
    "hotspot",
    "credentials",
    "secret",
    "token",
    "apikey",
    "network",
    "hostname",
    "host",
    "user",
    "login",
    "mac",
    "wlan",
    "wifi",
    // German, French, Italian, Spanish, Portuguese, Dutch, Polish.
    "passwort",
    "kennwort",
    "netzwerkname",
    "mot de passe",
    "motdepasse",
    "mdp",
    "contrase\u{f1}a",
    "contrasena",
    "senha",
    "wachtwoord",
    "has\u{142}o",
    "haslo",
];
/// The same where `:` or `=` follows; without it they are words of any talk.
const WORDS_WITH_SIGN: [&str; 26] = [
    "key",
    "keys",
    "code",
    "schl\u{fc}ssel",
    "schluessel",
    "netz",
    "netzwerk",
    "benutzer",
    "cl\u{e9}",
    "cle",
    "r\u{e9}seau",
    "reseau",
    "utilisateur",
    "clave",
    "nombre de red",
    "nombre de la red",
    "usuario",
    "chave",
    "nome da rede",
    "usu\u{e1}rio",
    "chiave",
    "rete",
    "utente",
    "parola",
    "netwerk",
    "gebruiker",
];
/// What may stand between the word and the secret.
const BETWEEN: &[u8] = b" \t:=,\"'-<>()[]";
/// What ends a secret.
const ENDS: &[u8] = b"\r\n;,\"'";

/// The places in `text` that hold a secret: what stands behind such a word, up to the end of its part of the line, and
/// hardware and network addresses wherever they stand. Ascending, apart.
pub fn places(text: &[u8]) -> Vec<Range<usize>> {
    let lower = text.to_ascii_lowercase();
    let mut found: Vec<Range<usize>> = WORDS.iter().flat_map(|word| behind(&lower, word, false)).collect();
    found.extend(WORDS_WITH_SIGN.iter().flat_map(|word| behind(&lower, word, true)));
    found.extend(addresses(&lower));
    found.sort_by_key(|place| (place.start, place.end));
    joined(found)
}

/// What stands behind each such word; `sign`: only where `:` or `=` stands between.
fn behind(lower: &[u8], word: &str, sign: bool) -> Vec<Range<usize>> {
    let mut found = Vec::new();
    for begin in memchr::memmem::find_iter(lower, word.as_bytes()) {
        let before = begin.checked_sub(1).and_then(|at| lower.get(at));
        if before.is_some_and(u8::is_ascii_alphanumeric) {
            continue;
        }
        let rest = begin + word.len();
        let gap = count(lower, rest, |byte| BETWEEN.contains(&byte));
        let start = rest + gap;
        let length = count(lower, start, |byte| !ENDS.contains(&byte));
        let signed = lower.get(rest..start).is_some_and(|gap| gap.iter().any(|byte| matches!(byte, b':' | b'=')));
        if gap > 0 && length > 0 && (signed || !sign) {
            found.push(start..start + length);
        }
    }
    found
}

fn count(text: &[u8], from: usize, is: impl Fn(u8) -> bool) -> usize {
    text.get(from..).unwrap_or_default().iter().take_while(|byte| is(**byte)).count()
}

/// Six pairs of hex digits parted by `:` or `-`, and four numbers parted by dots.
fn addresses(lower: &[u8]) -> Vec<Range<usize>> {
    let mut found = Vec::new();
    let mut at = 0;
    while at < lower.len() {
        let run = count(lower, at, |byte| byte.is_ascii_hexdigit() || matches!(byte, b':' | b'-' | b'.'));
        let word = lower.get(at..at + run).unwrap_or_default();
        if run > 0 && (is_hardware_address(word) || is_network_address(word)) {
            found.push(at..at + run);
        }
        at += run.max(1);
    }
    found
}

fn is_hardware_address(word: &[u8]) -> bool {
    let word = word.strip_suffix(b".").unwrap_or(word);
    let parts: Vec<&[u8]> = word.split(|byte| matches!(byte, b':' | b'-')).collect();
    parts.len() == 6 && parts.iter().all(|part| part.len() == 2)
}

fn is_network_address(word: &[u8]) -> bool {
    let word = word.strip_suffix(b".").unwrap_or(word);
    let parts: Vec<&[u8]> = word.split(|byte| *byte == b'.').collect();
    let number = |part: &&[u8]| (1..=3).contains(&part.len()) && part.iter().all(u8::is_ascii_digit);
    parts.len() == 4 && parts.iter().all(number)
}

fn joined(places: Vec<Range<usize>>) -> Vec<Range<usize>> {
    let mut all: Vec<Range<usize>> = Vec::new();
    for place in places {
        match all.last_mut() {
            Some(last) if place.start <= last.end => last.end = last.end.max(place.end),
            _ => all.push(place),
        }
    }
    all
}

/// `text` with every secret overwritten; its length stays. Whether anything was.
pub fn veiled(text: &str) -> (String, bool) {
    let mut bytes = text.as_bytes().to_vec();
    let places = places(&bytes);
    for place in &places {
        cover(bytes.get_mut(place.clone()).unwrap_or_default());
    }
    // Covering a whole character leaves text; half a one cannot be met, since places end at ASCII or at the end.
    (String::from_utf8_lossy(&bytes).into_owned(), !places.is_empty())
}

/// `text` with all that stands between its quotes overwritten; in what is quoted a `\\` stands before a quote or a `\\`. A
/// finding quotes what stood on the wire, which may be free text.
pub fn veiled_quotes(text: &str) -> String {
    let (mut inside, mut escaped) = (false, false);
    let letter = |letter: char| {
        let quote = letter == '"' && !escaped;
        escaped = inside && letter == '\\' && !escaped;
        inside ^= quote;
        if inside && !quote { 'x' } else { letter }
    };
    text.chars().map(letter).collect()
}

/// How many bytes were overwritten on the way from one text to the other, which is as long.
pub fn overwritten(before: &str, after: &str) -> usize {
    before.bytes().zip(after.bytes()).filter(|(before, after)| before != after).count()
}

/// Overwrites everything but line ends; how many bytes that changed.
pub fn cover(bytes: &mut [u8]) -> u64 {
    let mut changed = 0;
    for byte in bytes.iter_mut().filter(|byte| !matches!(**byte, b'\r' | b'\n' | b'x')) {
        *byte = b'x';
        changed += 1;
    }
    changed
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str) -> String {
        veiled(text).0
    }

    #[test]
    fn what_stands_behind_such_a_word_is_covered() {
        assert_eq!(shown("ssid: Hollow Barn 5"), "ssid: xxxxxxxxxxxxx");
        assert_eq!(shown("PSK=\"tin kettle\"; ch 6"), "PSK=\"xxxxxxxxxx\"; ch 6");
        assert_eq!(shown("join wifi [barn] ok"), "join wifi [xxxxxxxx");
        assert_eq!(shown("mac 02:00:5e:10:00:01 up"), "mac xxxxxxxxxxxxxxxxxxxx");
        assert_eq!(shown("at 192.0.2.17 port 80"), "at xxxxxxxxxx port 80");
        assert_eq!(shown("seen 02-00-5E-10-00-01."), "seen xxxxxxxxxxxxxxxxxx");
        assert_eq!(shown("pw=tin-kettle-7"), "pw=xxxxxxxxxxxx");
        assert_eq!(shown("key = tin kettle"), "key = xxxxxxxxxx");
        assert_eq!(shown("api_key: 93ab"), "api_key: xxxx");
        assert_eq!(shown("on my hotspot Hollow Barn"), "on my hotspot xxxxxxxxxxx");
        assert_eq!(shown("WPA2 tinkettle"), "WPA2 xxxxxxxxx");
        assert_eq!(shown("taught-ssid=barn"), "taught-ssid=xxxx");
        assert_eq!(shown("Passwort: Kessel 7"), "Passwort: xxxxxxxx");
        assert_eq!(shown("mot de passe = bouilloire"), "mot de passe = xxxxxxxxxx");
        assert_eq!(shown("contrase\u{f1}a tetera"), "contrase\u{f1}a xxxxxx");
        assert_eq!(shown("chiave:bollitore, ok"), "chiave:xxxxxxxxx, ok");
        assert_eq!(shown("R\u{e9}seau: Grange 5"), "R\u{e9}seau: xxxxxxxx");
    }

    #[test]
    fn orders_and_plain_talk_stay() {
        for text in [
            "way,port",
            "pace=180",
            "c042 p07 drv f+030",
            "compass 12",
            "RL hums",
            "1.2.3",
            "passed",
            "press the key e",
            "code 7 came",
            "clave en mano",
            "la rete tiene",
        ] {
            assert_eq!(veiled(text), (text.to_owned(), false));
        }
    }

    #[test]
    fn what_is_quoted_is_covered() {
        assert_eq!(veiled_quotes(r#"first "a\"b\\", not "c""#), r#"first "xxxxxx", not "x""#);
        assert_eq!(veiled_quotes(r"no \ quote"), r"no \ quote");
    }

    #[test]
    fn lengths_stay() {
        for text in ["ssid \u{e9}t\u{e9} \u{6708}", "password: \u{1F600}", "host=a\nb"] {
            let (covered, any) = veiled(text);
            assert!(any);
            assert_eq!(covered.len(), text.len(), "{covered}");
        }
        assert_eq!(shown("host=a\nb"), "host=x\nb");
    }
}
