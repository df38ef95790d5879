//! Near misses of names.

/// Near misses of a name among those known, nearest first, at most three.
pub fn near_misses<'a>(name: &str, known: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let mut near: Vec<(usize, &str)> = known
        .filter(|candidate| *candidate != name)
        .map(|candidate| (strsim::damerau_levenshtein(name, candidate), candidate))
        .filter(|(distance, candidate)| {
            *distance <= (name.chars().count().max(candidate.chars().count()) / 3).max(1)
        })
        .collect();
    near.sort_unstable();
    near.dedup();
    near.into_iter().take(3).map(|(_, candidate)| candidate).collect()
}

/// `did you mean …` with near misses; where there are none but few names, what there is.
pub fn did_you_mean_or_list<'a>(
    name: &str,
    what: &str,
    known: impl Iterator<Item = &'a str> + Clone,
) -> Option<String> {
    const FEW: usize = 12;
    did_you_mean(name, known.clone()).or_else(|| {
        let all: Vec<String> = known.take(FEW + 1).map(|name| format!("`{name}`")).collect();
        (1..=FEW).contains(&all.len()).then(|| format!("{what} {}", all.join(", ")))
    })
}

/// `did you mean …` with near misses, where there are some.
pub fn did_you_mean<'a>(name: &str, known: impl Iterator<Item = &'a str>) -> Option<String> {
    let near = near_misses(name, known);
    (!near.is_empty()).then(|| {
        let quoted: Vec<String> = near.iter().map(|name| format!("`{name}`")).collect();
        format!("did you mean {}?", quoted.join(" or "))
    })
}
