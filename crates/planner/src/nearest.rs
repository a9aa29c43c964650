//! "Did you mean": the known word nearest to an unknown one.

use crate::units::split_unit;

/// The word of `known` that `word` most likely stands for, if one is near enough: at most a third of its letters
/// differ by insertion, deletion, change or exchange of neighbours, or only the unit at the end is another or left out.
pub fn nearest<'a>(word: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let limit = (word.chars().count() / 3).max(1);
    known
        .map(|candidate| {
            let same_stem = word.rsplit_once('_').map(|p| p.0) == candidate.rsplit_once('_').map(|p| p.0)
                && word.contains('_');
            let unit_left_out =
                !word.is_empty() && split_unit(candidate).is_some_and(|(stem, _)| stem == word);
            let distance = if same_stem || unit_left_out { 1 } else { distance(word, candidate) };
            (distance, candidate)
        })
        .filter(|(distance, _)| *distance <= limit)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

/// Damerau-Levenshtein distance, restricted form (optimal string alignment).
fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) =
        (a.to_lowercase().chars().take(64).collect(), b.to_lowercase().chars().take(64).collect());
    let mut rows = [vec![0; b.len() + 1], (0..=b.len()).collect(), vec![0; b.len() + 1]];
    for i in 1..=a.len() {
        rows[2][0] = i;
        for j in 1..=b.len() {
            let change = usize::from(a[i - 1] != b[j - 1]);
            let mut best = (rows[1][j] + 1).min(rows[2][j - 1] + 1).min(rows[1][j - 1] + change);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                best = best.min(rows[0][j - 2] + 1);
            }
            rows[2][j] = best;
        }
        rows.rotate_left(1);
    }
    rows[1][b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    const KNOWN: [&str; 3] = ["mass_kg", "diameter_mm", "height_m"];

    #[test]
    fn slips_of_the_finger_are_mended() {
        assert_eq!(nearest("masss_kg", KNOWN.into_iter()), Some("mass_kg"));
        assert_eq!(nearest("hieght_m", KNOWN.into_iter()), Some("height_m"));
        assert_eq!(nearest("Diameter_MM", KNOWN.into_iter()), Some("diameter_mm"));
    }

    #[test]
    fn a_wrong_unit_finds_the_right_key() {
        assert_eq!(nearest("mass_grams", KNOWN.into_iter()), Some("mass_kg"));
        assert_eq!(nearest("mass", KNOWN.into_iter()), Some("mass_kg"));
    }

    #[test]
    fn strangers_stay_strangers() {
        assert_eq!(nearest("colour", KNOWN.into_iter()), None);
        assert_eq!(nearest("", KNOWN.into_iter()), None);
    }
}
