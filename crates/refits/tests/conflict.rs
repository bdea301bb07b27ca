//! The smallest conflict against looking at every set of wishes.

use refits::conflict::smallest_conflict;

/// Steele, Lea & Flood, "Fast splittable pseudorandom number generators", 2014.
fn next(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// Some conflicts; whatever has one of them within it can't be met.
fn conflicts(state: &mut u64, wishes: usize) -> Vec<u64> {
    (0..next(state) % 5)
        .map(|_| {
            let mut set = next(state);
            if next(state).is_multiple_of(2) {
                set &= next(state);
            }
            set & ((1 << wishes) - 1)
        })
        .collect()
}

fn as_bits(mask: &[bool]) -> u64 {
    mask.iter().rev().fold(0, |bits, on| bits * 2 + u64::from(*on))
}

fn met(sets: &[u64], bits: u64) -> bool {
    !sets.iter().any(|set| set & !bits == 0)
}

#[test]
fn smallest_of_all_sets() {
    let mut state = 11;
    let mut found_some = 0;
    for round in 0..2000 {
        let wishes = usize::try_from(next(&mut state) % 9).unwrap_or(0);
        let sets = conflicts(&mut state, wishes);
        let truth = (0..1_u64 << wishes).filter(|bits| !met(&sets, *bits)).map(u64::count_ones).min();
        for budget in [10_000, 12, 3, 1] {
            let mut asked = 0;
            let found = smallest_conflict(wishes, budget, &mut |mask| {
                asked += 1;
                Some(met(&sets, as_bits(mask)))
            });
            assert!(asked <= budget, "round {round}");
            assert_eq!(found.is_some(), truth.is_some(), "round {round}");
            let (Some(found), Some(truth)) = (found, truth) else { continue };
            let bits = found.wishes.iter().fold(0, |bits, wish| bits | 1 << wish);
            assert!(!met(&sets, bits), "round {round}: no conflict");
            if budget == 10_000 {
                assert!(found.smallest_proven, "round {round}");
                found_some += 1;
            }
            if found.smallest_proven {
                assert_eq!(found.wishes.len(), truth as usize, "round {round}");
            }
        }
    }
    assert!(found_some > 500, "{found_some}");
}

#[test]
fn undecided_is_never_called_a_conflict() {
    let mut state = 5;
    for round in 0..500 {
        let wishes = 6;
        let sets = conflicts(&mut state, wishes);
        let dark = next(&mut state);
        let mut decide = |mask: &[bool]| {
            let bits = as_bits(mask);
            // Some questions stay open, always the same ones.
            (!(dark >> (bits % 64)).is_multiple_of(3)).then(|| met(&sets, bits))
        };
        if let Some(found) = smallest_conflict(wishes, 1000, &mut decide) {
            let bits = found.wishes.iter().fold(0, |bits, wish| bits | 1 << wish);
            assert!(!met(&sets, bits), "round {round}");
            if found.smallest_proven {
                let truth = (0..1_u64 << wishes).filter(|bits| !met(&sets, *bits)).map(u64::count_ones).min();
                assert_eq!(Some(u32::try_from(found.wishes.len()).unwrap_or(99)), truth, "round {round}");
            }
        }
    }
}
