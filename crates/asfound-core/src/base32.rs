//! Characters that people read out and type, and a check character: for short seals and the codes of work sheets.
//!
//! The alphabet is Crockford's Base32 (<https://www.crockford.com/base32.html>): 32 digits and upper-case letters without
//! I, L, O and U; I and L are read as 1, O as 0, small letters as large ones.
//!
//! The check character is that of H. M. Damm ("Total anti-symmetrische Quasigruppen", dissertation, Marburg 2004), whose
//! published construction for an alphabet of 2ⁿ symbols (example 5.2) is *x* ∗ *y* = 2·*x* + *y* in the field of
//! that order, here GF(2⁵) with the polynomial x⁵ + x² + 1. It catches every single wrong character and every
//! swap of two adjacent ones, itself included. (Crockford's own check symbol, the number modulo 37, catches the same,
//! but needs five signs such as `*` and `~` that do not read out well.)

const SYMBOLS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// The character of a symbol from 0 to 31.
pub fn character(symbol: u8) -> char {
    char::from(SYMBOLS[usize::from(symbol & 31)])
}

/// The symbol that a character stands for, as forgivingly as the alphabet allows.
pub fn symbol(character: char) -> Option<u8> {
    let upper = match character.to_ascii_uppercase() {
        'I' | 'L' => '1',
        'O' => '0',
        other => other,
    };
    let at = SYMBOLS.iter().position(|&symbol| char::from(symbol) == upper)?;
    u8::try_from(at).ok()
}

/// Twice the element of GF(2⁵).
fn doubled(x: u8) -> u8 {
    let twice = x << 1;
    if twice & 32 == 0 { twice } else { twice ^ 0b10_0101 }
}

fn folded(symbols: &[u8]) -> u8 {
    symbols.iter().fold(0, |sum, symbol| doubled(sum) ^ symbol)
}

/// The symbol that belongs behind `symbols`.
pub fn check_symbol(symbols: &[u8]) -> u8 {
    doubled(folded(symbols))
}

/// Whether the last of `symbols` is the check symbol of those before.
pub fn checks(symbols: &[u8]) -> bool {
    folded(symbols) == 0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn product(x: u8, y: u8) -> u8 {
        doubled(x) ^ y
    }

    /// What Damm asks of the table: a Latin square, and (c ∗ x) ∗ y = (c ∗ y) ∗ x only where x = y; tried for all.
    #[test]
    fn the_table_catches_every_single_error_and_every_adjacent_swap() {
        for x in 0..32u8 {
            let mut row: Vec<u8> = (0..32).map(|y| product(x, y)).collect();
            let mut column: Vec<u8> = (0..32).map(|y| product(y, x)).collect();
            row.sort_unstable();
            column.sort_unstable();
            assert_eq!((row, column), ((0..32).collect(), (0..32).collect()));
            for c in 0..32 {
                for y in (0..32).filter(|y| *y != x) {
                    assert_ne!(product(product(c, x), y), product(product(c, y), x), "{c} {x} {y}");
                }
            }
        }
        // The beginning of the table for 32 symbols as it is published (Stack Overflow, "Extending the Damm
        // algorithm to base-32", after Damm's example 5.2).
        assert_eq!([1, 2, 3].map(|x| [0, 1, 2, 3].map(|y| product(x, y))), [[2, 3, 0, 1], [4, 5, 6, 7], [6, 7, 4, 5]]);
    }

    #[test]
    fn the_check_symbol_checks() {
        for symbols in [&[][..], &[0], &[31, 31, 31], &[1, 2, 3, 4, 5]] {
            let mut with = symbols.to_vec();
            with.push(check_symbol(symbols));
            assert!(checks(&with));
        }
    }

    #[test]
    fn lookalikes_are_forgiven_and_others_are_not() {
        for at in 0..32 {
            assert_eq!(symbol(character(at)), Some(at));
            assert_eq!(symbol(character(at).to_ascii_lowercase()), Some(at));
        }
        for (lookalike, meant) in [('O', '0'), ('o', '0'), ('I', '1'), ('i', '1'), ('L', '1'), ('l', '1')] {
            assert_eq!(symbol(lookalike), symbol(meant));
        }
        assert_eq!(['U', 'u', '-', 'é', '*', ' '].map(symbol), [None; 6]);
    }
}
