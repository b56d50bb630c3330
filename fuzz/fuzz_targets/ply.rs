//! Any bytes as PLY: a mesh whose health can be told, or an error. No panic, no claim believed.

#![no_main]

use libfuzzer_sys::fuzz_target;
use trochoid::panel::mesh::{LengthUnit, MeshHealth};
use trochoid::panel::read::{MeshFormat, mesh_from_bytes};

fuzz_target!(|bytes: &[u8]| {
    match mesh_from_bytes("file", bytes, MeshFormat::Ply, LengthUnit::Mm) {
        Ok(file) => {
            let vertices = file.mesh.vertices().len();
            assert!(file.mesh.triangles().iter().flatten().all(|v| (*v as usize) < vertices));
            assert!(file.mesh.vertices().iter().flatten().all(|c| c.abs() <= 1e3));
            assert!(!MeshHealth::of(&file.mesh, LengthUnit::Mm).to_string().is_empty());
        }
        Err(e) => assert!(e.to_string().len() < 1000),
    }
});
