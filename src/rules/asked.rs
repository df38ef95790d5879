//! What rows, lists and texts are asked in functions that are computed without the engine.

use std::rc::Rc;

use super::direct::{Given, Run};
use super::many::Many;
use super::row::{Part, Row, Rows};
use super::rowset;
use super::thing::{Left, Outcome, Thing, checked, truth};
use crate::cells::{BLOCK, Stretch};
use crate::job::name::Name;
use crate::value::Value;

/// What rows, lists and texts can be asked.
#[derive(Clone, Copy)]
pub enum Method {
    AsRows,
    EndsWith,
    Filter,
    Find,
    FlatMap,
    Group,
    GroupRows,
    Has,
    HasError,
    Map,
    Max,
    Min,
    Numbered,
    Reduce,
    Sort,
    StartsWith,
    SubString,
    Sum,
    ToLower,
    ToUpper,
    Unique,
    Where,
    WithoutErrors,
}

impl Method {
    /// By its name in scripts and how many arguments it is given.
    pub fn of(name: &str, arguments: usize) -> Option<Method> {
        Some(match (name, arguments) {
            ("as_rows", 0) => Method::AsRows,
            ("ends_with", 1) => Method::EndsWith,
            ("filter", 1) => Method::Filter,
            ("find", 2) => Method::Find,
            ("flat_map", 1) => Method::FlatMap,
            ("group", 1) => Method::Group,
            ("group_rows", 1) => Method::GroupRows,
            ("has", 1) => Method::Has,
            ("has_error", 1) => Method::HasError,
            ("map", 1) => Method::Map,
            ("max", 1) => Method::Max,
            ("min", 1) => Method::Min,
            ("numbered", 3) => Method::Numbered,
            ("reduce", 2) => Method::Reduce,
            ("sort", 1) => Method::Sort,
            ("starts_with", 1) => Method::StartsWith,
            ("sub_string", 1) => Method::SubString,
            ("sum", 1) => Method::Sum,
            ("to_lower", 0) => Method::ToLower,
            ("to_upper", 0) => Method::ToUpper,
            ("unique", 1) => Method::Unique,
            ("where", 2) => Method::Where,
            ("without_errors", 1) => Method::WithoutErrors,
            _ => return None,
        })
    }
}

impl Run<'_> {
    pub fn method(&self, method: Method, of: &Thing, given: &[Thing]) -> Outcome {
        let world = self.world;
        match (method, given) {
            (Method::Filter | Method::Map | Method::FlatMap, [Thing::Function(function)]) => {
                self.with_each(method, of, function)
            }
            (Method::Reduce, [Thing::Function(function), first])
                if !matches!(of, Thing::Rows(_)) =>
            {
                of.items()?
                    .try_fold(first.clone(), |so_far, item| self.given(function, [so_far, item?]))
            }
            (Method::AsRows, []) => {
                let rows = of.clone().into_rows().ok_or(Left::GivenUp)?;
                Ok(Thing::Rows(Rows(rows)))
            }
            (Method::EndsWith, [end]) => Ok(truth(of.text()?.ends_with(&**end.text()?))),
            (Method::StartsWith, [start]) => Ok(truth(of.text()?.starts_with(&**start.text()?))),
            (Method::SubString, [Thing::Value(Value::Count(from))]) => {
                let from = usize::try_from(*from).map_err(|_| Left::GivenUp)?;
                let rest: String = of.text()?.chars().skip(from).collect();
                Ok(Thing::Value(Value::text(rest)))
            }
            (Method::ToLower, []) => Ok(Thing::Value(Value::text(of.text()?.to_lowercase()))),
            (Method::ToUpper, []) => Ok(Thing::Value(Value::text(of.text()?.to_uppercase()))),
            (Method::Find, [name, wanted]) => {
                let wanted = wanted.clone().into_value()?;
                let found = rowset::first_having(world, &of.rows()?, name.text()?, &wanted)?;
                Ok(found.map_or(Thing::Value(Value::Blank), |base| Thing::Row(Row::plain(base))))
            }
            (Method::Where, [name, wanted]) => {
                let wanted = wanted.clone().into_value()?;
                let rows = rowset::having(world, &of.rows()?, name.text()?, &wanted)?;
                Ok(Thing::Rows(rows))
            }
            (Method::Group, [names]) => {
                Ok(Thing::Rows(rowset::group(world, &of.rows()?, &names.names()?)?))
            }
            (Method::GroupRows, [names]) if !matches!(of, Thing::Rows(_)) => {
                let rows = Rows(of.clone().into_rows().ok_or(Left::GivenUp)?);
                Ok(Thing::Rows(rowset::group(world, &rows, &names.names()?)?))
            }
            (Method::Numbered, [name, within, by]) => {
                let (within, by) = (within.names()?, by.names()?);
                let rows = of.rows()?;
                Ok(Thing::Rows(rowset::numbered(world, &rows, name.text()?, (&within, &by))?))
            }
            (Method::Sort, [names]) => {
                Ok(Thing::Rows(rowset::sort(world, &of.rows()?, &names.names()?)?))
            }
            (Method::Sum, [name]) => checked(rowset::sum(world, &of.rows()?, name.text()?)?),
            (Method::Max | Method::Min, [name]) => {
                let greatest = matches!(method, Method::Max);
                checked(rowset::extreme(world, &of.rows()?, name.text()?, greatest)?)
            }
            (Method::Unique, [name]) => {
                let values = rowset::unique(world, &of.rows()?, name.text()?)?;
                let things = values.into_iter().map(checked).collect::<Result<_, _>>()?;
                Ok(Thing::List(Rc::new(things)))
            }
            (Method::WithoutErrors, [name]) => {
                Ok(Thing::Rows(rowset::without_errors(world, &of.rows()?, name.text()?)))
            }
            (Method::HasError, [name]) => {
                let name = Name::new(&**name.text()?);
                let has_error = match of {
                    Thing::Row(row) => rowset::has_error(world, row.base(), &name),
                    other => {
                        let rows = other.rows()?;
                        rowset::any_error(world, &rows, &name)
                    }
                };
                Ok(truth(has_error))
            }
            (Method::Has, [name]) => match of {
                Thing::Row(row) => Ok(truth(row.base().get(&world.job, name.text()?).is_some())),
                _ => Err(Left::GivenUp),
            },
            _ => Err(Left::GivenUp),
        }
    }

    /// Calls a function that was given to a method.
    fn given<const N: usize>(&self, given: &Given, arguments: [Thing; N]) -> Outcome {
        if self.world.step().is_some() {
            return Err(Left::GivenUp);
        }
        self.function(&given.function, given.arguments(self.world, arguments))
    }

    /// The same for many rows at a time; `None` where they must be gone over one by one.
    fn with_many(
        &self,
        method: Method,
        rows: &Rows,
        function: &Given,
    ) -> Result<Option<Thing>, Left> {
        let run = Run { own_steps: false, ..*self };
        let (mut things, mut bases) = (Vec::new(), Vec::new());
        for from in (0..rows.0.len()).step_by(BLOCK) {
            let some = from..(from + BLOCK).min(rows.0.len());
            for _ in some.clone() {
                if self.world.step().is_some() {
                    return Err(Left::GivenUp);
                }
            }
            let part = Part::plain(&rows.0, some.clone());
            let many = part.and_then(|part| function.many_by(&run, part));
            let Some(many) = many else { return Ok(None) };
            match (method, &*many) {
                (Method::Filter, Many::Same(Thing::Value(Value::Bool(true)))) => {
                    bases.extend_from_slice(&rows.0[some]);
                }
                (Method::Filter, Many::Same(Thing::Value(Value::Bool(false)))) => {}
                (Method::Filter, Many::Plain(Stretch::Truths(truths))) => {
                    let kept = rows.0[some].iter().zip(truths).filter(|(_, is)| **is);
                    bases.extend(kept.map(|(base, _)| base.clone()));
                }
                (Method::Map, _) => {
                    things.extend(Rc::unwrap_or_clone(many).into_things(some.len()));
                }
                (Method::FlatMap, _) => {
                    for thing in Rc::unwrap_or_clone(many).into_things(some.len()) {
                        let rows = thing.into_rows().ok_or(Left::GivenUp)?;
                        bases.extend(rows.iter().cloned());
                    }
                }
                _ => return Err(Left::GivenUp),
            }
        }
        Ok(Some(match method {
            // Each is no larger than it may be, and they are as many as there are rows.
            Method::Map => Thing::List(Rc::new(things)),
            _ => Thing::Rows(Rows(bases.into())),
        }))
    }

    /// Filters, or makes another thing or several of each.
    fn with_each(&self, method: Method, of: &Thing, function: &Given) -> Outcome {
        if let Thing::Rows(rows) = of
            && rows.0.len() >= self.world.bounds.direct_rows.max(1)
            && let Some(made) = self.with_many(method, rows, function)?
        {
            return Ok(made);
        }
        let mut answers = of.items()?.map(|item| self.given(function, [item?]));
        match method {
            Method::Filter => {
                let mut kept = Vec::new();
                for (item, answer) in of.items()?.zip(answers) {
                    match answer? {
                        Thing::Value(Value::Bool(true)) => kept.push(item?),
                        Thing::Value(Value::Bool(false)) => {}
                        _ => return Err(Left::GivenUp),
                    }
                }
                if !matches!(of, Thing::Rows(_)) {
                    return Ok(Thing::List(Rc::new(kept)));
                }
                let bases = kept.into_iter().map(Thing::into_base);
                bases
                    .collect::<Option<_>>()
                    .map(|rows| Thing::Rows(Rows(rows)))
                    .ok_or(Left::GivenUp)
            }
            Method::Map => {
                let list = Thing::List(Rc::new(answers.collect::<Result<_, _>>()?));
                if matches!(of, Thing::Rows(_)) { Ok(list) } else { self.fitting(list) }
            }
            // Lists can not be asked for that.
            _ => {
                of.rows()?;
                let made = answers.try_fold(Vec::new(), |mut made, answer| {
                    let rows = answer?.into_rows().ok_or(Left::GivenUp)?;
                    made.extend(rows.iter().cloned());
                    Ok::<_, Left>(made)
                })?;
                Ok(Thing::Rows(Rows(made.into())))
            }
        }
    }
}
