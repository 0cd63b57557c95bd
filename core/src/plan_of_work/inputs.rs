//! What the reckonings are fed with from the design alone.
//!
//! Here and not in `floor`, which knows nothing of reckonings. What needs readings is fed in `inspection`.

use crate::floor::{FloorDesign, LayerRole, MembranePurpose, MembraneRequired, Service, ServiceKind};
use crate::reckon::{build_up, layer_order};

impl FloorDesign {
    /// The build-up: layers that take depth, and what is kept below them.
    pub fn build_up_input(&self) -> build_up::Input {
        let layers = self.layers.iter().filter_map(|layer| {
            let role = match layer.role {
                LayerRole::Finish => build_up::Role::Finish,
                LayerRole::Topping => build_up::Role::Topping,
                LayerRole::Membrane => build_up::Role::Membrane,
                LayerRole::Overlay => build_up::Role::Overlay,
                LayerRole::Beam => build_up::Role::Beam,
                LayerRole::Bedding => build_up::Role::Bedding,
                // They lie within the depth of another layer.
                LayerRole::Infill | LayerRole::Heating => return None,
            };
            Some(build_up::Layer { name: layer.name.to_string(), role, thickness_mm: layer.thickness_mm })
        });
        build_up::Input {
            finished_floor_level_m: self.levels.finished_floor_level_m,
            layers: layers.collect(),
            infill_below_bearing_mm: self.under_floor.infill_below_bearing_mm,
            void_mm: self.under_floor.void_mm,
            heave_allowance_mm: self.under_floor.heave_allowance_mm,
        }
    }

    /// The order of layers and services, and in plan where that can clear a pipe safely.
    pub fn layer_order_input(&self) -> layer_order::Input {
        let stack = self.layers.iter().filter_map(|layer| {
            let kind = match layer.role {
                LayerRole::Topping => layer_order::Kind::Topping,
                LayerRole::Membrane => layer_order::Kind::Membrane,
                LayerRole::Overlay => layer_order::Kind::Overlay,
                LayerRole::Infill => layer_order::Kind::Infill,
                LayerRole::Beam => layer_order::Kind::Beam,
                LayerRole::Heating => layer_order::Kind::Heating,
                // Neither hides nor carries a service.
                LayerRole::Finish | LayerRole::Bedding => return None,
            };
            let purpose = layer.purpose.map(|purpose| match purpose {
                MembranePurpose::Damp => layer_order::Purpose::Damp,
                MembranePurpose::Gas => layer_order::Purpose::Gas,
                MembranePurpose::Separating => layer_order::Purpose::Separating,
            });
            Some(layer_order::Layer { layer: layer.name.to_string(), kind, purpose })
        });
        let services = self.services.iter().map(|service| layer_order::Service {
            service: kind(service.service),
            within: service.in_layer.as_ref().map(ToString::to_string),
            below: service.below.as_ref().map(ToString::to_string),
            document: service.document.clone(),
        });
        let plan = self.membrane_over_gas_in_plan();
        layer_order::Input {
            stack: stack.collect(),
            services: services.collect(),
            membrane_required: self.membrane_required.map(|required| match required {
                MembraneRequired::Damp => layer_order::Required::Damp,
                MembraneRequired::Gas => layer_order::Required::Gas,
            }),
            plan,
        }
    }
}

impl FloorDesign {
    /// The membrane and the gas pipes within the floor's layers, in plan; without an outline of its own the membrane
    /// covers the floor. `None` unless there is one membrane and every such pipe has its path: else a pipe nobody
    /// drew, or a second membrane, would pass as clear, and the stack alone must judge.
    fn membrane_over_gas_in_plan(&self) -> Option<layer_order::Plan> {
        let mut membranes = self.layers.iter().filter(|layer| layer.role == LayerRole::Membrane);
        let (Some(membrane), None) = (membranes.next(), membranes.next()) else {
            return None;
        };
        let pipes: Vec<_> = self
            .services
            .iter()
            .filter(|pipe| pipe.service == ServiceKind::Gas && !self.is_in_void(pipe))
            .collect();
        if pipes.is_empty() || pipes.iter().any(|pipe| pipe.path_mm.len() < 2) {
            return None;
        }
        let drawn = self.membranes.iter().find(|outline| outline.layer == membrane.name);
        let pipes = pipes.into_iter().map(|pipe| layer_order::Pipe {
            service: layer_order::ServiceKind::Gas,
            path_mm: pipe.path_mm.clone(),
        });
        Some(layer_order::Plan {
            membrane_mm: drawn.map_or(&self.plan.outline_mm, |outline| &outline.outline_mm).clone(),
            pipes: pipes.collect(),
        })
    }

    /// Whether a service lies below the beams.
    fn is_in_void(&self, service: &Service) -> bool {
        let beam = self.layers.iter().position(|layer| layer.role == LayerRole::Beam);
        let below = service.below.as_ref().and_then(|name| self.layer_index(name));
        below.is_some() && below >= beam
    }
}

fn kind(service: ServiceKind) -> layer_order::ServiceKind {
    match service {
        ServiceKind::Gas => layer_order::ServiceKind::Gas,
        ServiceKind::Water => layer_order::ServiceKind::Water,
        ServiceKind::Electric => layer_order::ServiceKind::Electric,
        ServiceKind::Heating => layer_order::ServiceKind::Heating,
    }
}
