//! The cheapest action that tells the members of a class apart.

use crate::diagnosis::action::{Action, Exchanges};
use crate::diagnosis::beliefs::Costs;
use crate::diagnosis::class::{self, Class};
use crate::diagnosis::proposal::{self, Proposal, Why};
use crate::diagnosis::space::Space;
use crate::diagnosis::test::{Available, Test};

/// The cheapest; of equal effort the one that sets most of the class apart from its likeliest member.
pub fn cheapest(class: &Class, space: &Space, costs: &Costs, available: &Available) -> Option<Proposal> {
    if class.members.len() < 2 {
        return None;
    }
    // What the link cannot order is no way to tell; stand, floor and screwdriver can be fetched.
    let could = Available { one_wheel: available.one_wheel, ..Available::ALL };
    let plain = could.tests(&space.moves);
    let after = proposal::after_exchange_tests(&could, &space.moves);
    let without = plain.into_iter().map(|test| (None, test));
    let with = Action::all().into_iter().flat_map(|action| after.iter().map(move |test| (Some(action), *test)));
    let candidates = without.chain(with).filter_map(|(exchange, test)| candidate(class, space, costs, exchange, test));
    candidates.fold(None, |best: Option<Proposal>, next| match best {
        Some(best) if (best.cost, -best.gain) <= (next.cost, -next.gain) => Some(best),
        _ => Some(next),
    })
}

/// What this test would tell of the class alone, were every answer right; `None` when nothing.
fn candidate(class: &Class, space: &Space, costs: &Costs, exchange: Option<Action>, test: Test) -> Option<Proposal> {
    let question = class::question(test)?;
    let after = exchange.map_or_else(Exchanges::default, |action| Exchanges::default().then(action));
    let answer = |place: usize| space.answer(&space.hypothesis(place), question, &after);
    let top = answer(class.members.first()?.place);
    let apart = class.members.iter().filter(|member| answer(member.place) != top);
    let apart: f64 = apart.map(|member| member.probability).sum();
    if apart <= 0.0 {
        return None;
    }
    let exchange_cost = exchange.map_or(0.0, |action| proposal::exchange_cost(costs, action));
    let share = (apart / class.probability).min(1.0);
    Some(Proposal {
        exchange,
        test,
        gain: bits(share) + bits(1.0 - share),
        cost: proposal::cost(costs, test) + exchange_cost,
        why: Why::TellsMost,
    })
}

fn bits(share: f64) -> f64 {
    if share > 0.0 { -share * share.log2() } else { 0.0 }
}
