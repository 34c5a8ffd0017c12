//! Who stands where: chosen plants on their spots and on free ones, with few moves.

use journal::{PlantRow, Reader};
use planning::moves::{Standing as Now, choose};
use serde::Serialize;

use super::{
    model,
    place::{Amount, Lit, amount, enough_words, need_place, standing_here},
    spot,
    wants::Wants,
    what_if::{Stand, need_light, steps},
    words::plain,
};
use crate::{AskError, Hand, NameText, Result, plant_page::display_name};

/// What a move must gain, as the logarithm of light that is missing: a tenth. Common practice, no
/// source.
const EACH_MOVE: f64 = 0.1;
/// Too much light counts half as much as too little. Common practice, no source.
const TOO_MUCH: f64 = 0.5;
/// Between the spots that are proposed, and from them to plants \[cm\]: common practice, no source.
const PITCH: f64 = 15.0;
/// No more spots than this are proposed.
const MOST_SPOTS: usize = 40;

/// What is asked.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ArrangeTyped {
    /// Places on which plants may stand; the first is the one whose free spots are proposed.
    pub places: Vec<i64>,
    /// Numbers of the plants that may move; empty for all whose spot is known there.
    pub plants: Vec<i64>,
    /// Free spots as typed on the first place; empty to have some proposed.
    pub free: Vec<String>,
    /// No more moves than this.
    pub limit: usize,
}

/// A move that is proposed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MoveAdvice {
    /// The plant.
    pub plant: i64,
    /// Its name.
    pub name: NameText,
    /// From where, in words.
    pub from: String,
    /// Where to, in words.
    pub to: String,
    /// The place to move it to.
    pub place: i64,
    /// The spot there, as it can be written down.
    pub spot: String,
    /// Light now.
    pub now: Amount,
    /// Light then.
    pub then: Amount,
    /// Why.
    pub reason: String,
    /// How to get there where the step is too great at once; empty otherwise.
    pub way: String,
}

/// An order that is proposed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Arrangement {
    /// The moves.
    pub moves: Vec<MoveAdvice>,
    /// How many plants were considered.
    pub plants: usize,
    /// How many free spots.
    pub free: usize,
    /// How many plants were left out because nobody has said where they stand.
    pub without_spot: usize,
    /// Whether no other order with so few moves is better.
    pub proven: bool,
    /// The whole in a sentence.
    pub sentence: String,
}

struct Candidate {
    row: PlantRow,
    wants: Wants,
    at: usize,
}

struct Seat {
    place: usize,
    spot: (f64, f64),
    stand: Stand,
}

/// The best order with no more moves than asked for.
///
/// # Errors
/// If a place is not there or its light not described, a spot cannot be read, or the record cannot
/// be read.
pub fn arrange(reader: &Reader<'_>, typed: &ArrangeTyped, hand: &Hand) -> Result<Arrangement> {
    let month = model::month_of(hand.today_number());
    let mut places = Vec::new();
    for number in &typed.places {
        let row = need_place(reader, *number)?;
        let lit = need_light(reader, &row, hand)?;
        places.push((row, lit));
    }
    let Some((_, first)) = places.first() else {
        return Err(AskError::field("place", "", "names no place; write its number"));
    };
    let (mut seats, mut candidates, mut taken, mut without_spot) =
        (Vec::new(), Vec::new(), Vec::new(), 0);
    for (index, (row, lit)) in places.iter().enumerate() {
        let size = (lit.described.width, lit.described.depth);
        for (plant, at) in standing_here(reader, row, Some(size))? {
            let chosen = typed.plants.is_empty() || typed.plants.contains(&plant.number);
            match at {
                Some(spot) => {
                    if index == 0 {
                        taken.push(spot);
                    }
                    if chosen {
                        let wants = Wants::of_genus(&plant.genus);
                        candidates.push(Candidate { row: plant, wants, at: seats.len() });
                        seats.push(Seat {
                            place: index,
                            spot,
                            stand: Stand::new(lit, Some(spot), month),
                        });
                    }
                }
                None => without_spot += usize::from(chosen),
            }
        }
    }
    let free = free_spots(typed, first, &taken)?;
    let count = free.len();
    seats.extend(free.into_iter().map(|spot| Seat {
        place: 0,
        spot,
        stand: Stand::new(first, Some(spot), month),
    }));
    let costs: Vec<Vec<f64>> = candidates
        .iter()
        .map(|c| seats.iter().map(|s| cost(&c.wants, s.stand.typical())).collect())
        .collect();
    let now: Vec<usize> = candidates.iter().map(|c| c.at).collect();
    let choice =
        choose(&Now { costs: &costs, now: &now, each_move: EACH_MOVE, limit: typed.limit })
            .map_err(|e| AskError::field("places", "of these plants", e.to_string()))?;
    let mut moves = Vec::new();
    for (k, candidate) in candidates.iter().enumerate() {
        if choice.to[k] != candidate.at {
            let gain = costs[k][candidate.at] - costs[k][choice.to[k]];
            let room_for = now.iter().zip(&choice.to).position(|(_, to)| *to == candidate.at);
            let room_for = room_for.map(|other| candidates[other].row.number);
            let (from, to) = (&seats[candidate.at], &seats[choice.to[k]]);
            moves.push(advice(candidate, from, to, &places, (gain, room_for), hand)?);
        }
    }
    Ok(Arrangement {
        sentence: sentence(&moves, candidates.len(), typed.limit, hand),
        moves,
        plants: candidates.len(),
        free: count,
        without_spot,
        proven: choice.proven,
    })
}

/// What is missing to a plant at so much light, or too much.
fn cost(wants: &Wants, light: f64) -> f64 {
    let light = light.max(0.01);
    let missing = (wants.flower_from / light).ln().max(0.0);
    let beyond = (light / wants.flower_to).ln().max(0.0);
    missing + TOO_MUCH * beyond
}

/// Free spots as typed, or proposed where no plant is near.
fn free_spots(typed: &ArrangeTyped, lit: &Lit, taken: &[(f64, f64)]) -> Result<Vec<(f64, f64)>> {
    let (width, depth) = (lit.described.width, lit.described.depth);
    if !typed.free.is_empty() {
        let read = |words: &String| {
            spot::read(words, width, depth).ok_or_else(|| {
                AskError::field("free spot", words, "is no spot there; write centimetres from the left and from the back, such as 40, 15, or words such as left front")
            })
        };
        return typed.free.iter().map(read).collect();
    }
    let columns = ((width / PITCH) as usize).max(1);
    let rows = ((depth / PITCH) as usize).max(1);
    let mut out = Vec::new();
    for row in 0..rows {
        for column in 0..columns {
            let x = (width * (column as f64 + 0.5) / columns as f64).round();
            let y = (depth * (row as f64 + 0.5) / rows as f64).round();
            let near = taken.iter().any(|t| (t.0 - x).hypot(t.1 - y) < 0.8 * PITCH);
            if !near && out.len() < MOST_SPOTS {
                out.push((x, y));
            }
        }
    }
    Ok(out)
}

fn advice(
    candidate: &Candidate,
    from: &Seat,
    to: &Seat,
    places: &[(journal::PlaceRow, Lit)],
    (gain, room_for): (f64, Option<i64>),
    hand: &Hand,
) -> Result<MoveAdvice> {
    let t = hand.texts();
    let none =
        || AskError::field("light", "of this place", "cannot be computed; describe it again");
    let now = amount(&from.stand.ways, hand).ok_or_else(none)?;
    let then = amount(&to.stand.ways, hand).ok_or_else(none)?;
    let (_, now_words) = enough_words(&from.stand.ways, &candidate.wants, t);
    let (_, then_words) = enough_words(&to.stand.ways, &candidate.wants, t);
    let reason = match (gain > 0.0, room_for, now_words == then_words) {
        (false, Some(other), _) => t.f(
            "makes room for {plant}; here it has {then}",
            &[("plant", &other), ("then", &then_words)],
        ),
        (_, _, true) => t.f(
            "{then} instead of {now} mol m⁻² d⁻¹",
            &[("then", &then.shown), ("now", &now.shown)],
        ),
        _ => t.f("{then} instead of {now}", &[("then", &then_words), ("now", &now_words)]),
    };
    let steps = steps(from.stand.typical(), to.stand.typical(), false, hand)?;
    let way = match steps.last() {
        Some(last) if steps.len() > 1 && to.stand.typical() > from.stand.typical() => {
            t.f("in {n} steps, there from {date} on", &[("n", &steps.len()), ("date", &last.date)])
        }
        _ => String::new(),
    };
    let seat = |s: &Seat| {
        let spot = format!("{}, {}", plain(s.spot.0), plain(s.spot.1));
        let words = if from.place == to.place {
            spot.clone()
        } else {
            format!("{}: {spot}", places[s.place].0.name)
        };
        (words, spot)
    };
    let (there, spot) = seat(to);
    Ok(MoveAdvice {
        plant: candidate.row.number,
        name: display_name(&candidate.row.name, None, hand),
        from: seat(from).0,
        to: there,
        place: places[to.place].0.number,
        spot,
        now,
        then,
        reason,
        way,
    })
}

fn sentence(moves: &[MoveAdvice], plants: usize, limit: usize, hand: &Hand) -> String {
    let t = hand.texts();
    if plants == 0 {
        return t
            .t("No plant with a known spot was chosen, so there is nothing to move.")
            .to_owned();
    }
    if moves.is_empty() {
        return t.f(
            "Of one plant none would gain by moving.|Of {n} plants none would gain a tenth by moving.",
            &[("n", &plants)],
        );
    }
    t.f(
        "One move does most; {limit} were allowed.|{n} moves together do most; {limit} were allowed.",
        &[("n", &moves.len()), ("limit", &limit)],
    )
}

#[cfg(test)]
mod tests {
    use super::cost;
    use crate::light::Wants;

    #[test]
    fn nothing_is_missing_within_what_is_wanted() {
        let wants = Wants::of_genus("Streptocarpus");
        assert_eq!(cost(&wants, 5.0), 0.0);
        // Half of what it wants from: ln 2; twice what it wants at most: half of that.
        assert!((cost(&wants, wants.flower_from / 2.0) - f64::ln(2.0)).abs() < 1e-12);
        assert!((cost(&wants, wants.flower_to * 2.0) - f64::ln(2.0) / 2.0).abs() < 1e-12);
    }
}
