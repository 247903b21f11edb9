//! From a case and a mesh to the solver's model.

use super::draw::loads_alone;
use crate::case::{Case, Drive, ElasticLaw, SelfContact};
use crate::picture::{Mark, Role};
use withy_mesh::{Mesh, NodeId};
use withy_solver::{
    Coordinate, Elastic, Law, Model, ModelError, Obstacle, Orthotropic, PlaneState, RigidRegion,
    Support,
};

/// The nodes of a named region.
pub(super) fn nodes_of(mesh: &Mesh, name: &str) -> Vec<NodeId> {
    mesh.regions().iter().find(|r| r.name == name).map_or_else(Vec::new, |r| r.nodes.clone())
}

/// The model of a case on a mesh.
///
/// # Errors
/// A region that touches nothing, regions that overlap, nothing left to bend.
pub fn model<'m>(case: &Case, mesh: &'m Mesh, state: PlaneState) -> Result<Model<'m>, ModelError> {
    let card = &case.material;
    let elastic = Elastic::new(card.youngs_modulus.value, card.poissons_ratio.value, state)?;
    let sheet = card.modulus_across.as_ref().zip(card.shear_modulus.as_ref());
    let law = match (case.beads, sheet, case.law) {
        // A case with beads has both moduli: its reader saw to it.
        (Some(beads), Some((across, shear)), _) => {
            let (along, ratio) = (card.youngs_modulus.value, card.poissons_ratio.value);
            Law::Orthotropic(Orthotropic::new(along, across.value, ratio, shear.value)?, beads)
        }
        (_, _, ElasticLaw::StVenantKirchhoff) => Law::StVenantKirchhoff(elastic),
        (_, _, ElasticLaw::Hencky) => Law::Hencky(elastic),
    };
    model_of(case, mesh, law)
}

/// The same of any law.
pub(super) fn model_of<'m>(case: &Case, mesh: &'m Mesh, law: Law) -> Result<Model<'m>, ModelError> {
    let mut model = Model::new(mesh, law, case.thickness)?;
    for hold in &case.holds {
        model = model.support(Support {
            name: hold.region.clone(),
            nodes: nodes_of(mesh, &hold.region),
            displacement: [hold.along.x.then_some(0.0), hold.along.y.then_some(0.0)],
        })?;
    }
    for drive in &case.drives {
        let load = case.loads.iter().find(|l| l.region == drive.region);
        model = model.rigid_region(RigidRegion {
            name: drive.region.clone(),
            nodes: nodes_of(mesh, &drive.region),
            motion: motion(drive),
            force: load.map_or([0.0; 2], |l| l.force),
            moment: load.map_or(0.0, |l| l.moment),
        })?;
    }
    for load in loads_alone(case) {
        model = model.rigid_region(RigidRegion {
            name: load.region.clone(),
            nodes: nodes_of(mesh, &load.region),
            motion: [Coordinate::Free; 3],
            force: load.force,
            moment: load.moment,
        })?;
    }
    for obstacle in &case.obstacles {
        model = model.obstacle(Obstacle {
            name: obstacle.name.clone(),
            shape: obstacle.shape.clone(),
            nodes: obstacle.region.as_ref().map(|name| nodes_of(mesh, name)),
        })?;
    }
    if case.self_contact == SelfContact::On {
        model = model.meeting_itself();
    }
    withy_solver::path::check_solvable(&model)?;
    Ok(model)
}

fn motion(drive: &Drive) -> [Coordinate; 3] {
    let values = [drive.shift[0], drive.shift[1], drive.turn];
    let free = [drive.free.x, drive.free.y, drive.free.turn];
    [0, 1, 2].map(|k| if free[k] { Coordinate::Free } else { Coordinate::Driven(values[k]) })
}

/// The regions of a case, as pictures mark them.
#[must_use]
pub fn marks(case: &Case, mesh: &Mesh) -> Vec<Mark> {
    let mark = |name: &str, role, arrow| Mark {
        name: name.to_owned(),
        role,
        nodes: nodes_of(mesh, name),
        arrow,
    };
    let holds = case.holds.iter().map(|h| mark(&h.region, Role::Held, None));
    let drives = case.drives.iter().map(|d| mark(&d.region, Role::Driven, Some(d.shift)));
    let loads = loads_alone(case).map(|l| mark(&l.region, Role::Loaded, Some(l.force)));
    holds.chain(drives).chain(loads).collect()
}
