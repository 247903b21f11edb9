//! t
#[derive(Debug, thiserror::Error)]
#[error("x")]
/// t
pub enum CaseCause {}
impl CaseCause {
    pub fn mend(&self) -> Option<String> {
        None
    }
}
