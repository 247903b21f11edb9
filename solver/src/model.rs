//! What the user meant: a meshed part, its material, and how it is held, driven and loaded.

use crate::contact::Obstacle;
use crate::error::ModelError;
use crate::material::Law;
use withy_mesh::{Mesh, NodeId};

/// Prescribed displacements of single nodes; zero is a hold, one direction alone a roller.
#[derive(Clone, Debug, PartialEq)]
pub struct Support {
    /// The region's name, for reactions and complaints.
    pub name: String,
    /// The nodes.
    pub nodes: Vec<NodeId>,
    /// Displacement along x and y at load factor 1 (mm); `None` leaves that direction free.
    pub displacement: [Option<f64>; 2],
}

impl Support {
    /// Nodes that keep still in both directions.
    #[must_use]
    pub fn hold(name: &str, nodes: Vec<NodeId>) -> Self {
        Self { name: name.into(), nodes, displacement: [Some(0.0), Some(0.0)] }
    }
}

/// One coordinate of a rigid region: where the drive puts it at load factor 1, or free.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Coordinate {
    /// Driven in proportion to the load factor to this value (mm or rad).
    Driven(f64),
    /// Finds its own equilibrium.
    Free,
}

/// A region that moves as one rigid body: x = c + q_xy + R(q_turn) (X - c), c its centroid.
#[derive(Clone, Debug, PartialEq)]
pub struct RigidRegion {
    /// The region's name.
    pub name: String,
    /// Its nodes.
    pub nodes: Vec<NodeId>,
    /// Along x, along y, turn (counter-clockwise).
    pub motion: [Coordinate; 3],
    /// Dead force at load factor 1 (N).
    pub force: [f64; 2],
    /// Dead moment at load factor 1, counter-clockwise (N mm).
    pub moment: f64,
}

impl RigidRegion {
    /// The point that its shift and its moment are about: of its area, else of its edges, else of its
    /// nodes (mm).
    #[must_use]
    pub fn centroid(&self, mesh: &Mesh) -> [f64; 2] {
        crate::dofs::centroid(mesh, &self.nodes)
    }
}

/// A dead force on one node at load factor 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NodalForce {
    /// The node; forces on nodes of rigid regions are refused, give them to the region.
    pub node: NodeId,
    /// Force (N).
    pub force: [f64; 2],
}

/// A checked model of one part.
#[derive(Clone, Debug)]
pub struct Model<'m> {
    mesh: &'m Mesh,
    law: Law,
    thickness: f64,
    supports: Vec<Support>,
    rigid_regions: Vec<RigidRegion>,
    nodal_forces: Vec<NodalForce>,
    obstacles: Vec<Obstacle>,
    meets_itself: bool,
}

impl<'m> Model<'m> {
    /// A part of the given law and thickness (mm), free of supports and loads.
    ///
    /// # Errors
    /// A thickness that is not positive and finite.
    pub fn new(mesh: &'m Mesh, law: impl Into<Law>, thickness: f64) -> Result<Self, ModelError> {
        if !(thickness > 0.0 && thickness.is_finite()) {
            return Err(ModelError::Thickness { value: thickness });
        }
        Ok(Self {
            mesh,
            law: law.into(),
            thickness,
            supports: Vec::new(),
            rigid_regions: Vec::new(),
            nodal_forces: Vec::new(),
            obstacles: Vec::new(),
            meets_itself: false,
        })
    }

    /// Adds prescribed displacements. Supports may share nodes when they agree on directions.
    ///
    /// # Errors
    /// No node, a node that does not exist or belongs to a rigid region, a number not finite.
    pub fn support(mut self, support: Support) -> Result<Self, ModelError> {
        self.check_nodes(&support.name, &support.nodes)?;
        for value in support.displacement.into_iter().flatten() {
            check_finite(&format!("the displacement of \"{}\"", support.name), value)?;
        }
        for body in &self.rigid_regions {
            self.check_apart(&support.name, &support.nodes, &body.name, &body.nodes)?;
        }
        self.supports.push(support);
        Ok(self)
    }

    /// Adds a rigid region.
    ///
    /// # Errors
    /// No node, a node that does not exist, is supported or belongs to another rigid region, a
    /// number not finite.
    pub fn rigid_region(mut self, region: RigidRegion) -> Result<Self, ModelError> {
        self.check_nodes(&region.name, &region.nodes)?;
        let driven = region.motion.iter().filter_map(|c| match c {
            Coordinate::Driven(value) => Some(*value),
            Coordinate::Free => None,
        });
        for value in driven.chain(region.force).chain([region.moment]) {
            check_finite(&format!("a motion or load of \"{}\"", region.name), value)?;
        }
        for support in &self.supports {
            self.check_apart(&region.name, &region.nodes, &support.name, &support.nodes)?;
        }
        for body in &self.rigid_regions {
            self.check_apart(&region.name, &region.nodes, &body.name, &body.nodes)?;
        }
        self.rigid_regions.push(region);
        Ok(self)
    }

    /// Adds dead forces on single nodes; see [`crate::load::edge_traction`].
    ///
    /// # Errors
    /// A node that does not exist or belongs to a rigid region, a force not finite.
    pub fn nodal_forces(mut self, forces: &[NodalForce]) -> Result<Self, ModelError> {
        let nodes: Vec<NodeId> = forces.iter().map(|f| f.node).collect();
        if !nodes.is_empty() {
            self.check_nodes("nodal forces", &nodes)?;
        }
        for body in &self.rigid_regions {
            self.check_apart("nodal forces", &nodes, &body.name, &body.nodes)?;
        }
        for value in forces.iter().flat_map(|f| f.force) {
            check_finite("a nodal force", value)?;
        }
        self.nodal_forces.extend_from_slice(forces);
        Ok(self)
    }

    /// Adds a rail or a pin that the part meets.
    ///
    /// # Errors
    /// A rail without length, a pin without radius, a number not finite, a node that does not exist.
    pub fn obstacle(mut self, obstacle: Obstacle) -> Result<Self, ModelError> {
        obstacle.check()?;
        if let Some(nodes) = &obstacle.nodes {
            self.check_nodes(&obstacle.name, nodes)?;
        }
        self.obstacles.push(obstacle);
        Ok(self)
    }

    /// Edges of the part that touch push on each other; without it they run through each other.
    #[must_use]
    pub fn meeting_itself(mut self) -> Self {
        self.meets_itself = true;
        self
    }

    /// The mesh.
    #[must_use]
    pub fn mesh(&self) -> &'m Mesh {
        self.mesh
    }

    /// The law of its material.
    #[must_use]
    pub fn law(&self) -> &Law {
        &self.law
    }

    /// Reference thickness (mm).
    #[must_use]
    pub fn thickness(&self) -> f64 {
        self.thickness
    }

    /// The supports.
    #[must_use]
    pub fn supports(&self) -> &[Support] {
        &self.supports
    }

    /// The rigid regions.
    #[must_use]
    pub fn rigid_regions(&self) -> &[RigidRegion] {
        &self.rigid_regions
    }

    /// The dead forces on single nodes.
    #[must_use]
    pub fn forces_on_nodes(&self) -> &[NodalForce] {
        &self.nodal_forces
    }

    /// The rails and pins.
    #[must_use]
    pub fn obstacles(&self) -> &[Obstacle] {
        &self.obstacles
    }

    /// Whether edges of the part that touch push on each other.
    #[must_use]
    pub fn meets_itself(&self) -> bool {
        self.meets_itself
    }

    fn check_nodes(&self, name: &str, nodes: &[NodeId]) -> Result<(), ModelError> {
        if nodes.is_empty() {
            return Err(ModelError::EmptyRegion { name: name.into() });
        }
        let count = self.mesh.nodes().len();
        match nodes.iter().find(|n| n.index() >= count) {
            Some(&node) => Err(ModelError::NoSuchNode { node, nodes: count }),
            None => Ok(()),
        }
    }

    fn check_apart(
        &self,
        first: &str,
        nodes: &[NodeId],
        second: &str,
        others: &[NodeId],
    ) -> Result<(), ModelError> {
        let mut taken = vec![false; self.mesh.nodes().len()];
        for n in others {
            taken[n.index()] = true;
        }
        match nodes.iter().find(|n| taken[n.index()]) {
            Some(n) => {
                let at = self.mesh.nodes()[n.index()];
                Err(ModelError::Overlap {
                    first: first.into(),
                    second: second.into(),
                    x: at.x,
                    y: at.y,
                })
            }
            None => Ok(()),
        }
    }
}

fn check_finite(what: &str, value: f64) -> Result<(), ModelError> {
    if value.is_finite() { Ok(()) } else { Err(ModelError::NotFinite { what: what.into(), value }) }
}
