//! Orders with covers that stay open while it is tried whether an action helped.

use super::order::{TIE, by_efficiency, efficiency, left};
use super::{Covered, Lid, Ordered, amount, chance};

/// What is done in one go: an action, or a cover with the actions that pay for it.
struct Block {
    p: f64,
    minutes: f64,
    order: Vec<usize>,
}

/// Best order with covers inside covers, each paid once: the bottom-up p/C rule.
///
/// Each cover is a job that solves nothing and comes before what is under it. Under a cover,
/// the pieces are sorted by decreasing p/C and join the cover's block while their efficiency
/// is that of the block *or more* (stopping at a tie isn't optimal); the rest stays as pieces
/// of their own. A block is one piece in the cover around it. Ottosen & Jensen 2010 (arXiv
/// 1203.3502); O(n lg n). Exact under the conditions of the [module](super) when covers form a
/// tree and needn't be closed for the test; not known to be with a call or with questions.
pub fn cover_tree(actions: &[Covered], lids: &[Lid]) -> Ordered {
    let around = around(lids);
    let depth: Vec<usize> = (0..lids.len()).map(|lid| chain(&around, Some(lid)).len()).collect();
    // One pool a lid, and the last for what stands in the open.
    let mut pools: Vec<Vec<Block>> = (0..=lids.len()).map(|_| Vec::new()).collect();
    let pool_of = |lid: Option<usize>| lid.filter(|lid| *lid < lids.len()).unwrap_or(lids.len());
    for (at, action) in actions.iter().enumerate() {
        let block = Block { p: chance(action.p), minutes: amount(action.minutes), order: vec![at] };
        pools[pool_of(action.cover)].push(block);
    }
    let mut inner_first: Vec<usize> = (0..lids.len()).collect();
    inner_first.sort_by_key(|lid| std::cmp::Reverse(depth[*lid]));
    for lid in inner_first {
        let pieces = sorted(std::mem::take(&mut pools[lid]));
        if pieces.is_empty() {
            continue; // nothing under it: it is never opened
        }
        let (block, rest) = under(amount(lids[lid].minutes), pieces);
        let outer = &mut pools[pool_of(around[lid])];
        outer.push(block);
        outer.extend(rest);
    }
    let open = std::mem::take(&mut pools[lids.len()]);
    let order: Vec<usize> = sorted(open).into_iter().flat_map(|block| block.order).collect();
    let minutes = cost_of(&order, actions, lids, None);
    Ordered { order, minutes }
}

/// The block of a cover of these minutes, of the sorted pieces under it, and what is left.
fn under(minutes: f64, pieces: Vec<Block>) -> (Block, Vec<Block>) {
    let mut block = Block { p: 0.0, minutes, order: Vec::new() };
    let mut pieces = pieces.into_iter().peekable();
    while let Some(piece) =
        pieces.next_if(|piece| piece.p * block.minutes >= block.p * piece.minutes * (1.0 - TIE))
    {
        block.p += piece.p;
        block.minutes += piece.minutes;
        block.order.extend(piece.order);
    }
    (block, pieces.collect())
}

fn sorted(blocks: Vec<Block>) -> Vec<Block> {
    let keys: Vec<_> = blocks
        .iter()
        .map(|block| (efficiency(block.p, block.minutes), block.order.iter().copied().min().unwrap_or(0)))
        .collect();
    let mut blocks: Vec<_> = blocks.into_iter().map(Some).collect();
    by_efficiency(&keys).into_iter().filter_map(|at| blocks[at].take()).collect()
}

/// Expected minutes (ECR) of an order: a cover is paid with the first action that needs it;
/// with a `call` in minutes, what none of them solved is called in.
///
/// Places that aren't in `actions` are skipped. The order may be any part of the actions;
/// what it leaves out isn't done.
pub fn cost_of(order: &[usize], actions: &[Covered], lids: &[Lid], call: Option<f64>) -> f64 {
    let around = around(lids);
    let mut open = vec![false; lids.len()];
    let (mut minutes, mut solved) = (0.0, 0.0);
    for action in order.iter().filter_map(|at| actions.get(*at)) {
        let mut price = amount(action.minutes);
        for lid in chain(&around, action.cover) {
            if !std::mem::replace(&mut open[lid], true) {
                price += amount(lids[lid].minutes);
            }
        }
        minutes += price * left(solved);
        solved += chance(action.p);
    }
    minutes + call.map_or(0.0, amount) * left(solved)
}

/// The lid around each; none where the chain of lids doesn't end.
pub(super) fn around(lids: &[Lid]) -> Vec<Option<usize>> {
    let ends = |lid: usize| {
        let mut at = Some(lid);
        for _ in 0..=lids.len() {
            let Some(place) = at else { return true };
            at = lids.get(place).and_then(|lid| lid.inside);
        }
        at.is_none()
    };
    (0..lids.len()).map(|lid| lids[lid].inside.filter(|outer| *outer < lids.len() && ends(lid))).collect()
}

/// Every lid that must be open for what stands under `cover`, the innermost first.
pub(super) fn chain(around: &[Option<usize>], cover: Option<usize>) -> Vec<usize> {
    std::iter::successors(cover.filter(|lid| *lid < around.len()), |lid| around[*lid]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn piece(p: f64, minutes: f64, at: usize) -> Block {
        Block { p, minutes, order: vec![at] }
    }

    /// Exact fractions by exhaustive search; definitions after Ottosen & Jensen 2010 (arXiv
    /// 1203.3502): the blocks of check instances T3 and T4.
    #[test]
    fn blocks_of_t3_and_t4() {
        let k1 = under(5.0, sorted(vec![piece(0.22, 2.0, 2), piece(0.18, 2.0, 3)]));
        let k2 = under(3.0, sorted(vec![piece(0.16, 1.0, 4), piece(0.14, 5.0, 5)]));
        let inner = under(6.0, sorted(vec![piece(0.30, 2.0, 4), piece(0.25, 4.0, 5)]));
        let inner_row = (inner.0.p, inner.0.minutes);
        let outer = under(2.0, sorted(vec![piece(0.12, 3.0, 2), piece(0.08, 1.0, 3), inner.0]));
        let rows: [(_, _, _, _, _, &[usize], &[f64]); 3] = [
            ("T3 K1", &k1, 0.40, 9.0, 0.044_444, &[2, 3], &[]),
            ("T3 K2", &k2, 0.16, 4.0, 0.040_000, &[4], &[0.028_000]),
            ("T4 K1", &outer, 0.63, 15.0, 0.042_000, &[3, 4, 5], &[0.040_000]),
        ];
        let close = |got: f64, want: f64| (got - want).abs() <= 5e-7;
        let mut wrong = Vec::new();
        for (name, (block, rest), p, minutes, ratio, order, left) in rows {
            let rest: Vec<f64> = rest.iter().map(|one| efficiency(one.p, one.minutes)).collect();
            let good = close(block.p, p)
                && close(block.minutes, minutes)
                && close(efficiency(block.p, block.minutes), ratio)
                && block.order == order
                && rest.len() == left.len()
                && rest.iter().zip(left).all(|(got, want)| close(*got, *want));
            if !good {
                wrong.push(format!("{name}: {}/{} {:?}, left {rest:?}", block.p, block.minutes, block.order));
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
        assert!(close(inner_row.0, 0.55) && close(inner_row.1, 12.0), "T4 K2: {inner_row:?}");
        assert!(close(efficiency(inner_row.0, inner_row.1), 0.045_833), "T4 K2: {inner_row:?}");
        assert!(inner.1.is_empty(), "T4 K2 leaves nothing");
    }

    #[test]
    fn a_tie_joins_the_block() {
        // 0.2/2 joins a cover of 2; the block is 0.2/4, as good as the 0.1/2 that is left.
        let (block, rest) = under(2.0, sorted(vec![piece(0.1, 2.0, 0), piece(0.2, 2.0, 1)]));
        assert_eq!((block.order, rest.len()), (vec![1, 0], 0));
    }
}
