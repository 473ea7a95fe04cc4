//! Binary glTF 2.0: each trail a mesh of tubes with beads at its anchors, coloured by height above
//! ground, in metres, x east, y up, z south of the origin. Source: glTF 2.0 specification, §4.4
//! (binary form) and §3.6 (accessors).

use super::{Layers, Trail};
use serde_json::{Value, json};

/// Radius of a tube, metres; a bead is wider. Thick enough to be seen, thin beside a leg.
const TUBE: f64 = 0.03;
const BEAD: f64 = 0.06;
/// Sides of a tube.
const SIDES: u16 = 8;
/// Low to high: five stops of viridis, sRGB (van der Walt & Smith 2015, CC0), readable in grey.
const STOPS: [[f64; 3]; 5] = [
    [68.0, 1.0, 84.0],
    [59.0, 82.0, 139.0],
    [33.0, 145.0, 140.0],
    [94.0, 201.0, 98.0],
    [253.0, 231.0, 37.0],
];

/// The trails whose plan is known; `None` where there is none. A trail without a known position
/// has its release at the origin.
pub fn encode(layers: &Layers, version: &str) -> Option<Vec<u8>> {
    let trails: Vec<&Trail> =
        layers.trails.iter().filter(|trail| trail.why_not_in_space().is_none()).collect();
    let heights = || trails.iter().flat_map(|trail| &trail.anchors).map(|anchor| anchor.height);
    let [low, high] = [heights().fold(0.0, f64::min), heights().fold(0.0, f64::max)];
    let mut solid = Solid::default();
    for trail in &trails {
        solid.add(trail, &mesh(trail, [low, high]));
    }
    (!trails.is_empty()).then(|| solid.bytes([low, high], version))
}

/// Triangles with a colour at each corner.
#[derive(Default)]
struct Mesh {
    positions: Vec<[f32; 3]>,
    normals: Vec<[f32; 3]>,
    colours: Vec<[f32; 3]>,
    indices: Vec<u32>,
}

type Vector = [f64; 3];

fn mesh(trail: &Trail, range: [f64; 2]) -> Mesh {
    let mut mesh = Mesh::default();
    let place = |at: usize| {
        let [east, north, up] = trail.anchors[at].local.unwrap_or_default();
        ([east, up, -north], colour(trail.anchors[at].height, range))
    };
    for leg in &trail.legs {
        mesh.tube(place(leg.from), place(leg.to));
    }
    for at in 0..trail.anchors.len() {
        mesh.bead(place(at));
    }
    mesh
}

impl Mesh {
    fn corner(&mut self, position: Vector, normal: Vector, colour: [f32; 3]) -> u32 {
        #[expect(clippy::cast_possible_truncation, reason = "a tenth of a millimetre is left")]
        let single = |v: Vector| v.map(|x| x as f32);
        self.positions.push(single(position));
        self.normals.push(single(normal));
        self.colours.push(colour);
        u32::try_from(self.positions.len() - 1).unwrap_or(u32::MAX)
    }

    /// A tube without ends; none where both ends are one place.
    fn tube(&mut self, (a, from): (Vector, [f32; 3]), (b, to): (Vector, [f32; 3])) {
        let Some(along) = unit([b[0] - a[0], b[1] - a[1], b[2] - a[2]]) else { return };
        // Any direction that is not along the tube gives a pair across it.
        let other = if along[1].abs() < 0.9 { [0.0, 1.0, 0.0] } else { [1.0, 0.0, 0.0] };
        let Some(u) = unit(cross(along, other)) else { return };
        let v = cross(along, u);
        let mut ring = Vec::new();
        for side in 0..SIDES {
            let (sin, cos) = (f64::from(side) / f64::from(SIDES) * std::f64::consts::TAU).sin_cos();
            let normal = [0, 1, 2].map(|k| cos * u[k] + sin * v[k]);
            let shifted = |p: Vector| [0, 1, 2].map(|k| p[k] + TUBE * normal[k]);
            ring.push([self.corner(shifted(a), normal, from), self.corner(shifted(b), normal, to)]);
        }
        for (at, [a, b]) in ring.iter().enumerate() {
            let [c, d] = ring[(at + 1) % ring.len()];
            self.indices.extend([*a, c, *b, *b, c, d]);
        }
    }

    /// An octahedron.
    fn bead(&mut self, (centre, colour): (Vector, [f32; 3])) {
        let directions: [Vector; 6] = [
            [1.0, 0.0, 0.0],
            [0.0, 0.0, -1.0],
            [-1.0, 0.0, 0.0],
            [0.0, 0.0, 1.0],
            [0.0, 1.0, 0.0],
            [0.0, -1.0, 0.0],
        ];
        let corners =
            directions.map(|d| self.corner([0, 1, 2].map(|k| centre[k] + BEAD * d[k]), d, colour));
        for side in 0..4 {
            let (a, b) = (corners[side], corners[(side + 1) % 4]);
            self.indices.extend([a, b, corners[4], b, a, corners[5]]);
        }
    }
}

fn cross(a: Vector, b: Vector) -> Vector {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn unit(v: Vector) -> Option<Vector> {
    let length = v[0].hypot(v[1]).hypot(v[2]);
    (length > 1e-9).then(|| v.map(|x| x / length))
}

/// The colour of a height, in the linear light that glTF wants.
fn colour(height: f64, [low, high]: [f64; 2]) -> [f32; 3] {
    let share = if high > low { ((height - low) / (high - low)).clamp(0.0, 1.0) } else { 0.0 };
    let along = share * (STOPS.len() - 1) as f64;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 3")]
    let at = (along.floor() as usize).min(STOPS.len() - 2);
    let part = along - at as f64;
    [0, 1, 2].map(|k| linear((STOPS[at][k] + part * (STOPS[at + 1][k] - STOPS[at][k])) / 255.0))
}

/// The sRGB transfer function (IEC 61966-2-1).
#[expect(clippy::cast_possible_truncation, reason = "a colour")]
fn linear(value: f64) -> f32 {
    (if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }) as f32
}

/// What goes into the two chunks of the file.
#[derive(Default)]
struct Solid {
    binary: Vec<u8>,
    views: Vec<Value>,
    accessors: Vec<Value>,
    meshes: Vec<Value>,
    nodes: Vec<Value>,
}

impl Solid {
    fn add(&mut self, trail: &Trail, mesh: &Mesh) {
        let attributes = json!({
            "POSITION": self.vectors(&mesh.positions, true),
            "NORMAL": self.vectors(&mesh.normals, false),
            "COLOR_0": self.vectors(&mesh.colours, false),
        });
        let start = self.binary.len();
        mesh.indices.iter().for_each(|index| self.binary.extend(index.to_le_bytes()));
        let view = self.view(start, 34_963);
        let indices = self.accessors.len();
        self.accessors.push(json!({"bufferView": view, "componentType": 5125, "type": "SCALAR",
                                   "count": mesh.indices.len()}));
        let extras = json!({
            "orientation": trail.layout.orientation.words(),
            "place": trail.layout.place.words(),
        });
        self.nodes.push(json!({"name": trail.name, "mesh": self.meshes.len(), "extras": extras}));
        self.meshes.push(json!({"name": trail.name, "primitives": [
            {"attributes": attributes, "indices": indices, "material": 0, "mode": 4}]}));
    }

    /// An accessor of these vectors, with their bounds where `bounded`.
    fn vectors(&mut self, vectors: &[[f32; 3]], bounded: bool) -> usize {
        let start = self.binary.len();
        vectors.iter().flatten().for_each(|x| self.binary.extend(x.to_le_bytes()));
        let view = self.view(start, 34_962);
        let mut accessor = json!({"bufferView": view, "componentType": 5126, "type": "VEC3",
                                  "count": vectors.len()});
        if bounded {
            let of = |k: usize, least: f32, choose: fn(f32, f32) -> f32| {
                f64::from(vectors.iter().map(|v| v[k]).fold(least, choose))
            };
            accessor["min"] = json!([0, 1, 2].map(|k| of(k, f32::INFINITY, f32::min)));
            accessor["max"] = json!([0, 1, 2].map(|k| of(k, f32::NEG_INFINITY, f32::max)));
        }
        self.accessors.push(accessor);
        self.accessors.len() - 1
    }

    /// A view of what was written since `start`; 34,962 holds corners, 34,963 their order.
    fn view(&mut self, start: usize, target: u16) -> usize {
        let length = self.binary.len() - start;
        self.views.push(json!({"buffer": 0, "byteOffset": start, "byteLength": length,
                               "target": target}));
        self.views.len() - 1
    }

    fn bytes(self, [low, high]: [f64; 2], version: &str) -> Vec<u8> {
        let scene: Vec<usize> = (0..self.nodes.len()).collect();
        let head = json!({
            "asset": {"version": "2.0", "generator": format!("perchline {version}"), "extras": {
                "axes": "x east, y up, z south of the origin, metres; a trail whose orientation is \
                         unknown lies from its release towards -z",
                "colour": format!("height above ground, {low:.2} m to {high:.2} m"),
            }},
            "scene": 0, "scenes": [{"nodes": scene}], "nodes": self.nodes, "meshes": self.meshes,
            "materials": [{"name": "thread", "doubleSided": true, "pbrMetallicRoughness": {
                "metallicFactor": 0.0, "roughnessFactor": 0.9}}],
            "accessors": self.accessors, "bufferViews": self.views,
            "buffers": [{"byteLength": self.binary.len()}],
        });
        let mut head = head.to_string().into_bytes();
        head.resize(head.len().next_multiple_of(4), b' ');
        // Everything in the binary chunk is four bytes long, so that it needs no filling.
        let size = |length: usize| u32::try_from(length).unwrap_or(u32::MAX).to_le_bytes();
        let mut out = b"glTF".to_vec();
        out.extend(2_u32.to_le_bytes());
        out.extend(size(12 + 8 + head.len() + 8 + self.binary.len()));
        out.extend(size(head.len()));
        out.extend(b"JSON");
        out.extend(head);
        out.extend(size(self.binary.len()));
        out.extend(b"BIN\0");
        out.extend(self.binary);
        out
    }
}
