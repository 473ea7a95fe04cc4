//! The surface of all marks: matt paint under one light beside the onlooker.
//!
//! The library's own material weighs every pixel by a physical model of gloss, probes, fog and many
//! lights, none of which a mark has, and takes most of a picture's time where no graphics card does
//! it. This one lights the corners of a mark and lets the driver shade between them.

use kiss3d::camera::Camera3d;
use kiss3d::context::Context;
use kiss3d::glamx::{Pose3, Vec3};
use kiss3d::light::LightCollection;
use kiss3d::resource::vertex_index::VERTEX_INDEX_FORMAT;
use kiss3d::resource::{
    GpuData, GpuMesh3d, Material3d, PipelineCache, RenderContext, RenderPhase, multisample_state,
};
use kiss3d::scene::{InstancesBuffer3d, ObjectData3d};
use std::any::Any;
use std::cell::RefCell;
use std::rc::Rc;

/// Corners of a shape in `position` and `normal`; the rest is one mark's. Normals turn with the
/// cofactors of a mark's axes, which keeps them square to a surface that is stretched. A shape without
/// normals takes no light.
const SHADER: &str = "
struct Frame {
    onto_picture: mat4x4<f32>,
    // Where the light comes from, and how much comes from everywhere.
    light: vec4<f32>,
}
@group(0) @binding(0) var<uniform> frame: Frame;

struct Corner {
    @builtin(position) place: vec4<f32>,
    @location(0) colour: vec3<f32>,
}

@vertex
fn corner(
    @location(0) position: vec3<f32>,
    @location(1) normal: vec3<f32>,
    @location(2) middle: vec3<f32>,
    @location(3) colour: vec4<f32>,
    @location(4) x: vec3<f32>,
    @location(5) y: vec3<f32>,
    @location(6) z: vec3<f32>,
) -> Corner {
    let place = middle + mat3x3<f32>(x, y, z) * position;
    let outwards = mat3x3<f32>(cross(y, z), cross(z, x), cross(x, y)) * normal;
    let ambient = frame.light.w;
    let lit = max(dot(normalize(outwards), frame.light.xyz), 0.0);
    let facing = select(1.0, lit, dot(normal, normal) > 0.0);
    var out: Corner;
    out.place = frame.onto_picture * vec4<f32>(place, 1.0);
    out.colour = colour.rgb * (ambient + (1.0 - ambient) * facing);
    return out;
}

@fragment
fn paint(in: Corner) -> @location(0) vec4<f32> {
    return vec4<f32>(in.colour, 1.0);
}
";

/// Numbers of the shader's `Frame`.
const FRAME: usize = 20;
const F32: u64 = 4;

/// Matt paint, shared by all nodes of a stage.
pub(super) struct Matt {
    pipeline: PipelineCache,
    frame: wgpu::Buffer,
    bound: wgpu::BindGroup,
}

/// A node keeps nothing of its own.
struct Nothing;

impl GpuData for Nothing {
    fn as_any(&self) -> &dyn Any {
        self
    }

    fn as_any_mut(&mut self) -> &mut dyn Any {
        self
    }
}

/// A buffer of so many vectors of three or four numbers for each corner or mark.
struct Stream {
    step: wgpu::VertexStepMode,
    vectors: &'static [wgpu::VertexAttribute],
    numbers: u64,
}

const fn vector(place: u32, first: u64, format: wgpu::VertexFormat) -> wgpu::VertexAttribute {
    wgpu::VertexAttribute { offset: first * F32, shader_location: place, format }
}

/// Positions and normals of corners; middles, colours and axes of marks.
const STREAMS: [Stream; 5] = {
    use wgpu::VertexFormat::{Float32x3, Float32x4};
    use wgpu::VertexStepMode::{Instance, Vertex};
    const POSITION: &[wgpu::VertexAttribute] = &[vector(0, 0, Float32x3)];
    const NORMAL: &[wgpu::VertexAttribute] = &[vector(1, 0, Float32x3)];
    const MIDDLE: &[wgpu::VertexAttribute] = &[vector(2, 0, Float32x3)];
    const COLOUR: &[wgpu::VertexAttribute] = &[vector(3, 0, Float32x4)];
    const AXES: &[wgpu::VertexAttribute] =
        &[vector(4, 0, Float32x3), vector(5, 3, Float32x3), vector(6, 6, Float32x3)];
    [
        Stream { step: Vertex, vectors: POSITION, numbers: 3 },
        Stream { step: Vertex, vectors: NORMAL, numbers: 3 },
        Stream { step: Instance, vectors: MIDDLE, numbers: 3 },
        Stream { step: Instance, vectors: COLOUR, numbers: 4 },
        Stream { step: Instance, vectors: AXES, numbers: 9 },
    ]
};

impl Matt {
    /// The paint for the nodes of a stage; a window or surface must be there already.
    pub(super) fn for_nodes() -> Rc<RefCell<Box<dyn Material3d>>> {
        let context = Context::get();
        let frame = context.create_buffer(&wgpu::BufferDescriptor {
            label: Some("frame of matt marks"),
            size: FRAME as u64 * F32,
            usage: wgpu::BufferUsages::UNIFORM | wgpu::BufferUsages::COPY_DST,
            mapped_at_creation: false,
        });
        let layout = context.create_bind_group_layout(&wgpu::BindGroupLayoutDescriptor {
            label: Some("frame of matt marks"),
            entries: &[wgpu::BindGroupLayoutEntry {
                binding: 0,
                visibility: wgpu::ShaderStages::VERTEX,
                ty: wgpu::BindingType::Buffer {
                    ty: wgpu::BufferBindingType::Uniform,
                    has_dynamic_offset: false,
                    min_binding_size: None,
                },
                count: None,
            }],
        });
        let bound = context.create_bind_group(&wgpu::BindGroupDescriptor {
            label: Some("frame of matt marks"),
            layout: &layout,
            entries: &[wgpu::BindGroupEntry { binding: 0, resource: frame.as_entire_binding() }],
        });
        let pipeline = PipelineCache::new(move |samples| pipeline(&layout, samples));
        Rc::new(RefCell::new(Box::new(Self { pipeline, frame, bound })))
    }
}

fn pipeline(frame: &wgpu::BindGroupLayout, samples: u32) -> wgpu::RenderPipeline {
    let context = Context::get();
    let label = Some("matt marks");
    let module = &context.create_shader_module(label, SHADER);
    let buffers = STREAMS.map(|stream| {
        Some(wgpu::VertexBufferLayout {
            array_stride: stream.numbers * F32,
            step_mode: stream.step,
            attributes: stream.vectors,
        })
    });
    let layout = context.create_pipeline_layout(&wgpu::PipelineLayoutDescriptor {
        label,
        bind_group_layouts: &[Some(frame)],
        immediate_size: 0,
    });
    context.create_render_pipeline(&wgpu::RenderPipelineDescriptor {
        label,
        layout: Some(&layout),
        vertex: wgpu::VertexState {
            module,
            entry_point: Some("corner"),
            buffers: &buffers,
            compilation_options: wgpu::PipelineCompilationOptions::default(),
        },
        fragment: Some(wgpu::FragmentState {
            module,
            entry_point: Some("paint"),
            targets: &[Some(Context::render_format().into())],
            compilation_options: wgpu::PipelineCompilationOptions::default(),
        }),
        primitive: wgpu::PrimitiveState {
            cull_mode: Some(wgpu::Face::Back),
            ..wgpu::PrimitiveState::default()
        },
        depth_stencil: Some(wgpu::DepthStencilState {
            format: Context::depth_format(),
            depth_write_enabled: Some(true),
            depth_compare: Some(wgpu::CompareFunction::Less),
            stencil: wgpu::StencilState::default(),
            bias: wgpu::DepthBiasState::default(),
        }),
        multisample: multisample_state(samples),
        multiview_mask: None,
        cache: None,
    })
}

impl Material3d for Matt {
    fn create_gpu_data(&self) -> Box<dyn GpuData> {
        Box::new(Nothing)
    }

    fn prepare(
        &mut self,
        pass: usize,
        _: Pose3,
        _: Vec3,
        camera: &mut dyn Camera3d,
        lights: &LightCollection,
        _: &ObjectData3d,
        _: &mut dyn GpuData,
        _: u32,
        _: u32,
    ) {
        let (view, projection) = camera.view_transform_pair(pass);
        let onto_picture = projection * view.to_mat4();
        let from = lights.lights.first().map_or(Vec3::Z, |light| -light.world_direction);
        let light = [from.x, from.y, from.z, lights.ambient];
        let numbers = onto_picture.to_cols_array().into_iter().chain(light);
        let bytes: Vec<u8> = numbers.flat_map(f32::to_ne_bytes).collect();
        Context::get().write_buffer(&self.frame, 0, &bytes);
    }

    fn render(
        &mut self,
        _: usize,
        _: Pose3,
        _: Vec3,
        _: &mut dyn Camera3d,
        _: &LightCollection,
        data: &ObjectData3d,
        mesh: &mut GpuMesh3d,
        marks: &mut InstancesBuffer3d,
        _: &mut dyn GpuData,
        pass: &mut wgpu::RenderPass<'_>,
        context: &RenderContext,
    ) {
        if !data.surface_rendering_active() || context.phase != RenderPhase::Opaque {
            return;
        }
        let Ok(count) = u32::try_from(marks.len()) else { return };
        // Asked before the faces are held, which it asks itself.
        let indices_of_one = mesh.num_indices();
        marks.positions.load_to_gpu();
        marks.colors.load_to_gpu();
        marks.deformations.load_to_gpu();
        let (Ok(mut corners), Ok(mut normals), Ok(mut faces)) =
            (mesh.coords().write(), mesh.normals().write(), mesh.faces().write())
        else {
            return;
        };
        corners.load_to_gpu();
        normals.load_to_gpu();
        faces.load_to_gpu();
        let streams = [
            corners.buffer(),
            normals.buffer(),
            marks.positions.buffer(),
            marks.colors.buffer(),
            marks.deformations.buffer(),
        ];
        let Some(indices) = faces.buffer() else { return };
        pass.set_pipeline(&self.pipeline.get(context.sample_count));
        pass.set_bind_group(0, &self.bound, &[]);
        for (slot, stream) in (0..).zip(streams) {
            let Some(stream) = stream else { return };
            pass.set_vertex_buffer(slot, stream.slice(..));
        }
        pass.set_index_buffer(indices.slice(..), VERTEX_INDEX_FORMAT);
        pass.draw_indexed(0..indices_of_one, 0, 0..count);
    }
}
