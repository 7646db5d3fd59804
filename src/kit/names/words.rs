//! The trade's words: the name of a key, taken apart into words with a meaning.
//!
//! Case and accents don't matter. A word ends where letters meet digits, where a capital follows a small letter, and
//! at whatever is neither letter nor digit. Some words are written together, in German above all: a word that is not
//! known is taken apart into two or three known ones, whole or not at all.
//!
//! The words are the trade's, in English, German, French, Spanish, Italian and Portuguese: all from memory, no source.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::LazyLock;

/// What a word says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) enum Word {
    // What is struck.
    Kick,
    Snare,
    SideStick,
    RimShot,
    Rim,
    Hat,
    Ride,
    Bell,
    Bow,
    Crash,
    China,
    Splash,
    Tom,
    Sticks,
    Stick,
    // How, where, which.
    Closed,
    Half,
    Open,
    Foot,
    High,
    Mid,
    Low,
    Very,
    Floor,
    Rack,
    Left,
    Right,
    Number(u32),
    /// Says which of several sounds, and nothing about the piece: acoustic, soft, edge.
    Shade,
    /// Says nothing here: drum, cymbal.
    Filler,
    /// Another instrument.
    Other,
    /// Stops a sound and makes none.
    Choke,
    /// More than one stroke.
    Figure,
    /// No word of the trade.
    Unknown,
}

/// Every word and group of words, in small letters without accents.
#[rustfmt::skip]
const WORDS: &[(Word, &str)] = &[
    // Words of one language follow each other: English (with abbreviations), German, French, Spanish, Italian,
    // Portuguese; "|" parts them.
    (Word::Kick, "kick|kicks|kik|bd|kd|bassdrum|bass drum|bass drums|b drum|bassdrums|bass kick|kick bass|
        basstrommel|bass trommel|grosse trommel|grosstrommel|grosse caisse|gc|bombo|
        cassa|grancassa|gran cassa|bumbo"),
    (Word::Snare, "snare|snares|snr|sn|sd|snare drum|kleine trommel|schnarrtrommel|caisse claire|caja|redoblante|tarola|
        rullante|caixa|caixa clara"),
    (Word::SideStick, "side stick|sidestick|ss|side sticks|cross stick|crossstick|x stick|rim click|rimclick|rim clicks|
        stick on rim"),
    (Word::RimShot, "rimshot|rimshots|rs|rim shot|rim shots|randschlag"),
    (Word::Rim, "rim|rims|rand|bord|aro|bordo"),
    (Word::Hat, "hat|hats|hi hat|hi hats|hihat|hihats|high hat|highhat|high hats|hh|charleston|charley|charles|
        contratiempo|chimbal|chimbau|contratempo|prato de choque"),
    (Word::Ride, "ride|rides|rd|rc|conducao|prato de conducao"),
    (Word::Bell, "bell|bells|cup|dome|glocke|kuppe|kuppel|cloche|coupole|campana|cupola|cupula|sino"),
    (Word::Bow, "bow"),
    (Word::Crash, "crash|crashes|cr|ataque|prato de ataque"),
    (Word::China, "china|chinas|chinese|chinesisch|chinesisches|chinois|chinoise|chino|cinese|chines|chinesa"),
    (Word::Splash, "splash|splashes|spl"),
    (Word::Tom, "tom|toms|tom tom|tom toms|tomtom|tomtoms"),
    (Word::Sticks, "sticks|stick click|stick clicks|stick hit|stick hits|sticks click|count sticks|stock schlag|stocke|
        baguettes|baquetas|palillos|bacchette"),
    (Word::Stick, "stick|baguette|baqueta|bacchetta"),
    (Word::Closed, "closed|close|cl|cls|tight|shut|geschlossen|geschlossene|zu|ferme|fermee|
        cerrado|cerrada|chiuso|chiusa|fechado|fechada"),
    (Word::Half, "half|semi|loose|loosely|sloshy|slosh|slushy|washy|sizzle|quarter|halb|halbe|halboffen|locker|
        demi|mi ouvert|mi ouverte|entrouvert|entrouverte|medio|media|semiabierto|semiabierta|entreabierto|
        mezzo|mezza|semiaperto|semiaperta|meio|meia|semiaberto|semiaberta|entreaberto"),
    (Word::Open, "open|op|opn|opened|offen|offene|offenes|ouvert|ouverte|abierto|abierta|aperto|aperta|aberto|aberta"),
    (Word::Foot, "foot|pedal|ped|chick|footed|fuss|getreten|pied|pedale|pie|piede|pe"),
    (Word::High, "high|hi|upper|small|smaller|hoch|hohe|hohes|hoher|kleine|kleines|kleiner|klein|
        aigu|aigue|haut|petit|alto|alta|agudo|aguda|acuto|acuta|piccolo|pequeno"),
    (Word::Mid, "mid|middle|medium|md|mittel|mittlere|mittleres|mittlerer|moyen|intermedio|meio tom"),
    (Word::Low, "low|lo|lower|large|larger|big|deep|tief|tiefe|tiefes|tiefer|gross|grosse|grosses|grosser|
        grave|bas|basse|gros|bajo|baja|grande|basso|bassa|baixo|baixa"),
    (Word::Very, "very|extra|super|sehr|tres|muy|molto|muito"),
    (Word::Floor, "floor|flr|stand|boden"),
    (Word::Rack, "rack|hanging|mounted|hange|haenge|suspendu|suspendido|aereo|sospeso|suspenso"),
    (Word::Left, "left|l|lh|lft|links|linke|linkes|linker|gauche|izquierda|izquierdo|izq|sinistra|sinistro|sx|esquerda|esquerdo"),
    (Word::Right, "right|r|rh|rgt|rechts|rechte|rechtes|rechter|droite|droit|derecha|derecho|destra|destro|dx|direita|direito"),
    (Word::Number(1), "one|first|main|eins|un|une|uno|um"),
    (Word::Number(2), "two|second|ii|zwei|deux|dos|due|dois"),
    (Word::Number(3), "three|third|iii|drei|trois|tre"),
    (Word::Number(4), "four|fourth|iv|vier|quatre|cuatro|quattro|quatro"),
    (Word::Shade, "acoustic|electric|akustisch|akustische|elektrisch|elektrische|acoustique|electrique|acustico|acustica|
        soft|hard|loud|ghost|accent|edge|tip|shank|center|centre|off|on|hit|hits|beater|dead|stroke|
        alt|alternate|alternative|aux|auxiliary|second hand|hand|hands|rock|power|room|dry|wet|bright|dark|
        concert|standard|jazz|metal|heavy|brush|brushes|wire|wires|muffled|damped|ring|click"),
    (Word::Filler, "drum|drums|cymbal|cymbals|cym|trommel|becken|cymbale|cymbales|caisse|tambour|tambor|platillo|platillos|
        plato|tamburo|piatto|piatti|prato|pratos|pad|kit|key|note|the|de|do|da|del|della|di|du|des|la|le|el|et|en|
        und|and|mit|of|with|in|a|e|y"),
    (Word::Other, "cowbell|cow bell|cowbells|clap|claps|hand clap|handclap|handclaps|hand claps|tambourine|tamb|tambo|
        conga|congas|bongo|bongos|timbale|timbales|agogo|agogos|agogo bell|cabasa|maraca|maracas|shaker|shakers|egg|
        whistle|whistles|guiro|clave|claves|block|blocks|woodblock|wood block|woodblocks|temple block|cuica|triangle|vibraslap|
        vibra slap|jingle|jingle bell|jingles|sleigh|tree|bell tree|belltree|mark tree|castanet|castanets|surdo|surdos|
        slap|scratch|metronome|metronom|metronomo|snap|snaps|finger|fingers|timpani|gong|gongs|tam tam|tamtam|
        chime|chimes|windchime|windchimes|glockenspiel|crotale|crotales|tubular|darbuka|djembe|cajon|tabla|udu|taiko|
        pandeiro|ganza|caxixi|berimbau|repinique|tamborim|bodhran|bell plate|
        rototom|rototoms|roto|octoban|octobans|ice|stack|stacker|anvil|brake|
        electronic|electronics|electro|synth|synthetic|synthesizer|analog|digital|sine|noise|zap|laser|reverse|reversed|
        fx|sfx|effect|effects|vox|voice|bass guitar|guitar|piano|
        elektronisch|elektronische|electronique|elettronico|elettronica|electronico|electronica|eletronico|eletronica|
        kuhglocke|tamburin|schellen|schellenkranz|klatschen|handeklatschen|triangel|pfeife|holzblock|rassel|
        kastagnetten|trillerpfeife|
        tambourin|claquement|claquements|clochette|sifflet|vache|cloche de vache|castagnettes|
        pandereta|palmada|palmadas|palmas|silbato|cencerro|castanuelas|triangulo|maracon|caja china|
        tamburello|battimani|fischietto|campanaccio|triangolo|nacchere|
        apito|sino de vaca|castanholas|chocalho|reco|pandeirola"),
    (Word::Choke, "choke|choked|chokes|mute|muted|mutes|grab|grabbed|stop|stopped|stops|damp|gestoppt|abgestoppt|
        abstoppen|etouffe|etouffee|ahogado|apagado|stoppato|abafado"),
    (Word::Figure, "roll|rolls|buzz|press|drag|drags|flam|flams|ruff|ruffs|swirl|loop|loops|groove|fill|wirbel|
        roulement|redoble|rullo|rulo|rufo"),
];

/// What says two things at once: abbreviations, and names in other languages.
#[rustfmt::skip]
const BOTH: &[(Word, Word, &str)] = &[
    (Word::Hat, Word::Closed, "chh|hhc|hc"),
    (Word::Hat, Word::Half, "hhh"),
    (Word::Hat, Word::Open, "ohh|hho|ho"),
    (Word::Hat, Word::Foot, "phh|hhp|fhh|hhf"),
    (Word::Ride, Word::Bell, "rb"),
    (Word::Tom, Word::High, "ht|hitom"),
    (Word::Tom, Word::Mid, "mt"),
    (Word::Tom, Word::Low, "lt|lotom"),
    (Word::Tom, Word::Rack, "rt"),
    (Word::Tom, Word::Floor, "ft|goliat|timpano|tom basse|tom au sol|tom de piso|tom de suelo|timbal de suelo|
        tom a terra|tom de chao"),
];

/// The most words that are read as one.
const LONGEST: usize = 4;

/// Each word and group of words, with what it says.
static VOCABULARY: LazyLock<BTreeMap<&str, Vec<Word>>> = LazyLock::new(|| {
    let one = WORDS.iter().map(|(word, texts)| (vec![*word], *texts));
    let both = BOTH.iter().map(|(a, b, texts)| (vec![*a, *b], *texts));
    let mut all = BTreeMap::new();
    for (words, texts) in one.chain(both) {
        for text in texts.split('|').map(str::trim) {
            all.insert(text, words.clone());
        }
    }
    all
});

/// What a name says.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Reading {
    /// Its words without numbers, each once.
    pub words: BTreeSet<Word>,
    /// Its numbers, in their order.
    pub numbers: Vec<u32>,
}

impl Reading {
    /// Reads a name. The number of its own key, from 21 on, says nothing: below, it may be a size or a count.
    pub(super) fn new(name: &str, key: Option<u8>) -> Self {
        let mut reading = Self::default();
        for word in words(&tokens(name)) {
            match word {
                Word::Number(number) if number > 20 && Some(number) == key.map(u32::from) => {}
                Word::Number(number) => reading.numbers.push(number),
                Word::Filler => {}
                word => {
                    reading.words.insert(word);
                }
            }
        }
        reading
    }

    /// Whether it has a word.
    pub(super) fn has(&self, word: Word) -> bool {
        self.words.contains(&word)
    }

    /// What is struck, in the order of [`Word`].
    pub(super) fn struck(&self) -> Vec<Word> {
        self.words.range(..=Word::Stick).copied().collect()
    }
}

/// A word of a name, as it is written there, in small letters without accents.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Token {
    text: String,
    /// Nothing stands between it and the one before.
    glued: bool,
}

/// A letter without its accent, in small letters. What is no Latin letter stays as it is.
fn plain(letter: char) -> impl Iterator<Item = char> {
    let text = match letter {
        'à' | 'á' | 'â' | 'ã' | 'ä' | 'å' | 'À' | 'Á' | 'Â' | 'Ã' | 'Ä' | 'Å' => "a",
        'ç' | 'Ç' => "c",
        'è' | 'é' | 'ê' | 'ë' | 'È' | 'É' | 'Ê' | 'Ë' => "e",
        'ì' | 'í' | 'î' | 'ï' | 'Ì' | 'Í' | 'Î' | 'Ï' => "i",
        'ñ' | 'Ñ' => "n",
        'ò' | 'ó' | 'ô' | 'õ' | 'ö' | 'ø' | 'Ò' | 'Ó' | 'Ô' | 'Õ' | 'Ö' | 'Ø' => "o",
        'ù' | 'ú' | 'û' | 'ü' | 'Ù' | 'Ú' | 'Û' | 'Ü' => "u",
        'ß' | 'ẞ' => "ss",
        'æ' | 'Æ' => "ae",
        'œ' | 'Œ' => "oe",
        _ => "",
    };
    let kept = text.is_empty().then_some(letter);
    text.chars()
        .chain(kept.into_iter().flat_map(char::to_lowercase))
}

/// The words of a name. A fraction is "half": names of hi-hats have them.
fn tokens(name: &str) -> Vec<Token> {
    let name = ["1/2", "½", "1/4", "¼", "3/4", "¾"]
        .iter()
        .fold(name.to_owned(), |name, part| name.replace(part, " half "));
    // An accent may be a character of its own, after its letter.
    let letters: Vec<char> = name
        .chars()
        .filter(|c| !('\u{300}'..='\u{36f}').contains(c))
        .collect();
    let mut tokens: Vec<Token> = Vec::new();
    let mut before: Option<char> = None;
    for (at, &letter) in letters.iter().enumerate() {
        if !letter.is_alphanumeric() {
            before = None;
            continue;
        }
        let next_is_small = letters.get(at + 1).is_some_and(|next| next.is_lowercase());
        let starts = before.is_none_or(|before| {
            before.is_ascii_digit() != letter.is_ascii_digit()
                || letter.is_uppercase() && (before.is_lowercase() || next_is_small)
        });
        if starts {
            tokens.push(Token {
                text: String::new(),
                glued: before.is_some(),
            });
        }
        if let Some(token) = tokens.last_mut() {
            token.text.extend(plain(letter));
        }
        before = Some(letter);
    }
    tokens
}

/// What the words say, the longest groups first.
fn words(tokens: &[Token]) -> Vec<Word> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(token) = tokens.get(at) {
        let group = (1..=LONGEST.min(tokens.len() - at)).rev().find_map(|n| {
            let texts: Vec<&str> = tokens[at..at + n].iter().map(|t| &*t.text).collect();
            VOCABULARY.get(&*texts.join(" ")).map(|words| (n, words))
        });
        let number = |at: usize| tokens.get(at).and_then(|token| number(&token.text));
        let glued = tokens.get(at + 1).is_some_and(|next| next.glued);
        if number(at + 1).is_some() && token.text == "t" {
            found.push(Word::Tom);
            at += 1;
        } else if number(at + 1).is_some() && glued && is_note_letter(&token.text) {
            // The key's own name, such as "C3".
            at += 2;
        } else if let Some((n, words)) = group {
            found.extend(words);
            at += n;
        } else {
            match number(at) {
                Some(number) => found.push(Word::Number(number)),
                None => found.extend(apart(&token.text, 3).unwrap_or_else(|| vec![Word::Unknown])),
            }
            at += 1;
        }
    }
    found
}

/// A number that counts or measures something: up to four digits.
fn number(text: &str) -> Option<u32> {
    let digits = text.len() <= 4 && text.bytes().all(|byte| byte.is_ascii_digit());
    digits.then(|| text.parse().ok()).flatten()
}

fn is_note_letter(text: &str) -> bool {
    text.len() == 1 && ('a'..='g').any(|letter| text.starts_with(letter))
}

/// Longer words are not taken apart, in bytes: no word of the trade is.
const MOST_LETTERS: usize = 40;

/// Takes a word apart into at most so many known words of three letters or more.
fn apart(text: &str, parts: usize) -> Option<Vec<Word>> {
    if parts < 2 || !text.is_ascii() || text.len() > MOST_LETTERS {
        return None;
    }
    (3..=text.len().saturating_sub(3)).rev().find_map(|at| {
        let (first, rest) = text.split_at(at);
        let first = VOCABULARY.get(first)?;
        let rest = VOCABULARY
            .get(rest)
            .cloned()
            .or_else(|| apart(rest, parts - 1))?;
        Some([first.clone(), rest].concat())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(name: &str) -> Vec<Word> {
        words(&tokens(name))
    }

    #[test]
    fn words_end_where_they_end() {
        for (name, expected) in [
            ("Bass Drum 1", vec![Word::Kick, Word::Number(1)]),
            ("BD1", vec![Word::Kick, Word::Number(1)]),
            ("ClosedHiHat", vec![Word::Closed, Word::Hat]),
            ("HHClosed", vec![Word::Hat, Word::Closed]),
            ("hi-hat", vec![Word::Hat]),
            ("HI TOM", vec![Word::High, Word::Tom]),
            ("T2", vec![Word::Tom, Word::Number(2)]),
            ("C3 Crash", vec![Word::Crash]),
            ("Hi-Hat 1/2", vec![Word::Hat, Word::Half]),
            ("Hänge-Tom", vec![Word::Rack, Word::Tom]),
            ("Ha\u{308}ngetom", vec![Word::Rack, Word::Tom]),
            (
                "Crashbecken links",
                vec![Word::Crash, Word::Filler, Word::Left],
            ),
            ("CAISSE CLAIRE", vec![Word::Snare]),
            // Whole words: nothing is found inside of others.
            ("Override", vec![Word::Unknown]),
            ("Tomato", vec![Word::Unknown]),
            ("Stride 12345", vec![Word::Unknown, Word::Unknown]),
            ("", vec![]),
        ] {
            assert_eq!(read(name), expected, "{name}");
        }
    }

    #[test]
    fn every_word_is_written_as_it_is_looked_up_and_once() {
        let one = WORDS.iter().map(|(_, texts)| *texts);
        let both = BOTH.iter().map(|(_, _, texts)| *texts);
        let texts: Vec<&str> = one
            .chain(both)
            .flat_map(|texts| texts.split('|').map(str::trim))
            .collect();
        for text in &texts {
            let written: Vec<_> = tokens(text).into_iter().map(|token| token.text).collect();
            assert_eq!(written.join(" "), **text);
            assert!(written.len() <= LONGEST, "{text}");
            let twice = texts.iter().filter(|other| other == &text).count();
            assert_eq!(twice, 1, "{text} is there {twice} times");
        }
    }
}
