//! The shape of thin lines: a tube without ends. They would be half of its faces, and a driver without
//! a graphics card pays by the face.

use kiss3d::glamx::Vec3;
use kiss3d::procedural::{IndexBuffer, RenderMesh};
use kiss3d::scene::SceneNode3d;
use std::f32::consts::TAU;

/// A rod along the second axis, one long and of radius 1, of so many sides lit as if round.
pub(super) fn rod(sides: u16) -> SceneNode3d {
    let outwards: Vec<Vec3> = (0..sides)
        .map(|side| {
            let (sin, cos) = (TAU * f32::from(side) / f32::from(sides)).sin_cos();
            Vec3::new(cos, 0.0, sin)
        })
        .collect();
    let end = |y: f32| outwards.iter().map(move |out| *out + Vec3::Y * y);
    let corners = end(-0.5).chain(end(0.5)).collect();
    let normals = outwards.repeat(2);
    let sides = u32::from(sides);
    let side = |at: u32| {
        let next = (at + 1) % sides;
        [[at, at + sides, next], [next, at + sides, next + sides]]
    };
    let faces = (0..sides).flat_map(side).collect();
    let mesh = RenderMesh::new(corners, Some(normals), None, Some(IndexBuffer::Unified(faces)));
    SceneNode3d::render_mesh(mesh, Vec3::ONE)
}
