//! The functions of a script file, found by name.

use std::collections::HashMap;

use rhai::{AST, Module, ScriptFuncDef, Shared};

use crate::value::Hashing;

/// The functions of a file by name.
#[derive(Default)]
pub struct Functions(HashMap<String, Vec<Shared<ScriptFuncDef>>, Hashing>);

impl Functions {
    pub fn of(ast: &AST) -> Functions {
        let mut functions = Functions::default();
        for definition in ast.iter_fn_def() {
            let alike = functions.0.entry(definition.name.to_string()).or_default();
            alike.push(definition.clone());
        }
        functions
    }

    pub fn has(&self, name: &str) -> bool {
        self.0.contains_key(name)
    }

    /// The one of that name with so many parameters.
    pub fn get(&self, name: &str, parameters: usize) -> Option<&Shared<ScriptFuncDef>> {
        let alike = self.0.get(name)?;
        alike.iter().find(|definition| definition.params.len() == parameters)
    }

    /// The one of that name, which no other has: a function written in place.
    pub fn only(&self, name: &str) -> Option<&Shared<ScriptFuncDef>> {
        self.0.get(name)?.first()
    }
}

/// A function as a script of its own, to be gone over.
pub fn alone(definition: &Shared<ScriptFuncDef>) -> AST {
    let mut module = Module::new();
    module.set_script_fn(definition.clone());
    AST::new([], module)
}
