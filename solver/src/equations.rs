//! The equations of a model, kept from one solve to the next.
//!
//! Numbering them, ordering them and analysing their pattern costs as much as some Newton steps, and is the same for all
//! solves of one model.

use crate::model::Model;
use crate::newton::System;

/// The equations of one model and the analysis of their pattern, made when they are first needed. Whoever passes them to
/// another solve passes them with the same model.
#[derive(Clone, Debug, Default)]
pub struct Equations {
    first: Option<System>,
    second: Option<System>,
}

impl Equations {
    /// Those of a model, made at once.
    #[must_use]
    pub fn analysed(model: &Model) -> Self {
        Self { first: Some(System::new(model)), second: None }
    }

    /// Those of a model.
    pub(crate) fn of(&mut self, model: &Model) -> &mut System {
        self.first.get_or_insert_with(|| System::new(model))
    }

    /// Two copies, where two states are to be solved at once.
    pub(crate) fn twice(&mut self, model: &Model) -> (&mut System, &mut System) {
        let first = self.first.get_or_insert_with(|| System::new(model));
        let second = self.second.get_or_insert_with(|| first.clone());
        (first, second)
    }

    /// The equations themselves, for good.
    pub(crate) fn into_system(self, model: &Model) -> System {
        self.first.unwrap_or_else(|| System::new(model))
    }
}
