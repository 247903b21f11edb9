use super::*;
pub(super) fn read(_s: &Source) -> Result<Drawing, Refusal> {
    Err(Refusal::of_file(_s.path(), DrawingCause::NotDxf { why: "".into() }))
}
