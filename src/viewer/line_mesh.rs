//! The shape of thin lines: a square rod without ends. It has a third of the faces of a closed tube of
//! six sides, and a driver without a graphics card pays by the face. It has no normals, so that it
//! takes no light: lit edges would let a line of a pixel fall into dots.

use kiss3d::glamx::Vec3;
use kiss3d::procedural::{IndexBuffer, RenderMesh};
use kiss3d::scene::SceneNode3d;

/// Half the diagonal of the square. By how it is turned it is seen between √2 and 2 times as wide, about
/// as a tube of radius 1, and never so thin that a line of a pixel falls into dashes.
const CORNER: f32 = 1.25;

/// A rod along the second axis, one long and about two wide.
pub(super) fn rod() -> SceneNode3d {
    let square = [Vec3::X, Vec3::Z, -Vec3::X, -Vec3::Z];
    let end = |y: f32| square.map(|out| out * CORNER + Vec3::Y * y);
    let corners = [end(-0.5), end(0.5)].concat();
    let normals = vec![Vec3::ZERO; corners.len()];
    let side = |at: u32| {
        let next = (at + 1) % 4;
        [[at, at + 4, next], [next, at + 4, next + 4]]
    };
    let faces = (0..4).flat_map(side).collect();
    let mesh = RenderMesh::new(corners, Some(normals), None, Some(IndexBuffer::Unified(faces)));
    SceneNode3d::render_mesh(mesh, Vec3::ONE)
}
