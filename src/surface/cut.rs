//! The cheapest two-way split of a grid: minimum cut by maximum flow.
//!
//! The search-tree method of Boykov & Kolmogorov (2004), "An experimental comparison of min-cut/max-flow
//! algorithms for energy minimization in vision", IEEE PAMI 26(9), on the 8-neighbour grid, with whole-number
//! capacities: exact, and the same on every machine.

use std::collections::VecDeque;

/// Eight steps from a node to those it is bound to; direction `d` and `d ^ 1` are opposite.
type Steps = [(isize, isize); 8];
/// To the eight neighbours.
const NEIGHBOURS: Steps = [(1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, -1), (-1, 1), (1, -1)];
const NONE: u8 = 8;
const TERMINAL: u8 = 9;
const ORPHAN: u8 = 10;
/// Parting two nodes costs at most this either way, so that the flow between them fits into 16 bits.
const DEAREST: i32 = i16::MAX as i32 / 2;

/// A grid of nodes to be split into an inner and an outer part.
#[derive(Clone)]
pub(super) struct GridCut {
    width: usize,
    height: usize,
    steps: Steps,
    rim: usize,
    stride: usize,
    offset: [isize; 8],
    nodes: Vec<Node>,
    active: VecDeque<u32>,
    orphans: VecDeque<u32>,
    time: u32,
}

/// All that is known of a node: half a line of the processor's cache.
#[derive(Clone, Copy)]
#[repr(align(32))]
struct Node {
    /// Flow still possible to each neighbour; 16 bits, so that little memory is walked.
    residual: [i16; 8],
    /// Above 0: still possible from the inner terminal; below 0: to the outer terminal.
    terminal: i32,
    /// When its way to the terminal was last known, and how many steps it had.
    stamp: u32,
    depth: u32,
    /// 0 free, 1 tree of the inner terminal, 2 tree of the outer.
    tree: u8,
    /// Direction of the next node on the way to the terminal.
    parent: u8,
    waiting: bool,
}

impl Node {
    const FREE: Self =
        Self { residual: [0; 8], terminal: 0, stamp: 0, depth: 0, tree: 0, parent: NONE, waiting: false };
}

impl GridCut {
    /// A grid without any cost, bound to the eight neighbours.
    pub fn new(width: usize, height: usize) -> Self {
        Self::with_steps(width, height, NEIGHBOURS)
    }

    /// The same bound to the four neighbours and to the four nodes `far` steps away along rows and columns.
    pub fn with_far_bonds(width: usize, height: usize, far: usize) -> Self {
        let far = far as isize;
        let steps = [(1, 0), (-1, 0), (0, 1), (0, -1), (far, 0), (-far, 0), (0, far), (0, -far)];
        Self::with_steps(width, height, steps)
    }

    /// A rim as wide as the longest step is kept around the grid, so no step leaves it.
    fn with_steps(width: usize, height: usize, steps: Steps) -> Self {
        let rim = steps.iter().map(|(x, y)| x.unsigned_abs().max(y.unsigned_abs())).max().unwrap_or(1);
        let stride = width + 2 * rim;
        let n = stride * (height + 2 * rim);
        Self {
            width,
            height,
            steps,
            rim,
            stride,
            offset: steps.map(|(x, y)| x + y * stride as isize),
            nodes: vec![Node::FREE; n],
            active: VecDeque::new(),
            orphans: VecDeque::new(),
            time: 0,
        }
    }

    fn node(&self, x: usize, y: usize) -> usize {
        (y + self.rim) * self.stride + x + self.rim
    }

    /// What it costs to place a node outside minus what it costs inside: above 0 pulls it inside. Pulls add up.
    pub fn set_pull(&mut self, x: usize, y: usize, pull: i32) {
        let node = self.node(x, y);
        self.nodes[node].terminal += pull;
    }

    /// What it costs to part a node from the four it is bound to in the directions 0, 2, 4 and 6: without far bonds
    /// those to the right, below, below right and below left.
    pub fn set_bonds(&mut self, x: usize, y: usize, bonds: [i32; 4]) {
        for (k, bond) in bonds.into_iter().enumerate() {
            self.set_parting(x, y, 2 * k, [bond, bond]);
        }
    }

    /// What it costs to part a node from the one in direction `d` (even): `parting[0]` where the node is inside and
    /// the other outside, `parting[1]` the other way round. One may be below 0, a gain; their sum may not.
    ///
    /// A cost x on (outside, inside) is x for the other inside, less x for the node inside, and x more where the
    /// node is inside and the other outside (Kolmogorov & Zabih 2004, IEEE PAMI 26(2), section 4).
    pub fn set_parting(&mut self, x: usize, y: usize, d: usize, parting: [i32; 2]) {
        let node = self.node(x, y);
        let (nx, ny) = (x as isize + self.steps[d].0, y as isize + self.steps[d].1);
        if nx < 0 || nx >= self.width as isize || ny < 0 || ny >= self.height as isize {
            return;
        }
        let other = self.step(node, d);
        if parting[0] >= 0 && parting[1] >= 0 {
            self.nodes[node].residual[d] = room_for(parting[0]);
            self.nodes[other].residual[d ^ 1] = room_for(parting[1]);
        } else {
            self.nodes[other].terminal -= parting[1];
            self.nodes[node].terminal += parting[1];
            self.nodes[node].residual[d] = room_for(parting[0] + parting[1]);
        }
    }

    #[inline]
    fn step(&self, node: usize, d: usize) -> usize {
        (node as isize + self.offset[d]) as usize
    }

    fn activate(&mut self, node: usize) {
        if !self.nodes[node].waiting {
            self.nodes[node].waiting = true;
            self.active.push_back(node as u32);
        }
    }

    /// Splits the grid; true: inside. Nodes that no flow decides lie outside.
    pub fn split(mut self) -> Vec<bool> {
        self.push_between_neighbours();
        for node in 0..self.nodes.len() {
            if self.nodes[node].terminal != 0 {
                self.nodes[node].tree = if self.nodes[node].terminal > 0 { 1 } else { 2 };
                self.nodes[node].parent = TERMINAL;
                self.nodes[node].depth = 1;
                self.activate(node);
            }
        }
        while let Some(&node) = self.active.front() {
            let node = node as usize;
            match self.grow(node) {
                Some((from, d)) => {
                    self.time += 1;
                    self.augment(from, d);
                    while let Some(orphan) = self.orphans.pop_front() {
                        self.adopt(orphan as usize);
                    }
                }
                None => {
                    self.active.pop_front();
                    self.nodes[node].waiting = false;
                }
            }
        }
        let mut inside = Vec::with_capacity(self.width * self.height);
        for y in 0..self.height {
            inside.extend((0..self.width).map(|x| self.nodes[self.node(x, y)].tree == 1));
        }
        inside
    }

    /// Sends what flow there can be from the inner terminal over two nodes to the outer one: the shortest ways, and most
    /// of them where looks are noisy, need no trees.
    fn push_between_neighbours(&mut self) {
        for node in 0..self.nodes.len() {
            for d in 0..8 {
                if self.nodes[node].terminal <= 0 {
                    break;
                }
                let other = self.step(node, d);
                let (from, room) = (self.nodes[node].terminal, self.nodes[node].residual[d]);
                let flow = from.min(-self.nodes[other].terminal).min(room.into());
                if flow > 0 {
                    self.nodes[node].terminal -= flow;
                    self.nodes[other].terminal += flow;
                    self.nodes[node].residual[d] -= flow as i16;
                    self.nodes[other].residual[d ^ 1] += flow as i16;
                }
            }
        }
    }

    /// Grows the tree at an active node; the meeting edge (from the inner tree, direction) when trees touch.
    fn grow(&mut self, node: usize) -> Option<(usize, usize)> {
        let own = self.nodes[node];
        if own.tree == 0 {
            return None;
        }
        for d in 0..8 {
            let at = self.step(node, d);
            let other = &mut self.nodes[at];
            let room = if own.tree == 1 { own.residual[d] } else { other.residual[d ^ 1] };
            if room == 0 {
                continue;
            }
            if other.tree != own.tree && other.tree != 0 {
                return Some(if own.tree == 1 { (node, d) } else { (at, d ^ 1) });
            }
            let was_free = other.tree == 0;
            if was_free || other.stamp <= own.stamp && other.depth > own.depth {
                other.tree = own.tree;
                other.parent = (d ^ 1) as u8;
                other.stamp = own.stamp;
                other.depth = own.depth + 1;
            }
            if was_free {
                self.activate(at);
            }
        }
        None
    }

    fn augment(&mut self, from: usize, d: usize) {
        let to = self.step(from, d);
        let mut flow = self.nodes[from].residual[d];
        for (start, inner) in [(from, true), (to, false)] {
            let mut node = start;
            while self.nodes[node].parent != TERMINAL {
                let up = usize::from(self.nodes[node].parent);
                let next = self.step(node, up);
                let room =
                    if inner { self.nodes[next].residual[up ^ 1] } else { self.nodes[node].residual[up] };
                flow = flow.min(room);
                node = next;
            }
            flow = self.nodes[node].terminal.abs().min(flow.into()) as i16;
        }
        self.nodes[from].residual[d] -= flow;
        self.nodes[to].residual[d ^ 1] += flow;
        for (start, inner) in [(from, true), (to, false)] {
            let mut node = start;
            while self.nodes[node].parent != TERMINAL {
                let up = usize::from(self.nodes[node].parent);
                let next = self.step(node, up);
                let along = if inner { flow } else { -flow };
                self.nodes[node].residual[up] += along;
                self.nodes[next].residual[up ^ 1] -= along;
                let left =
                    if inner { self.nodes[next].residual[up ^ 1] } else { self.nodes[node].residual[up] };
                if left == 0 {
                    self.bereave(node);
                }
                node = next;
            }
            self.nodes[node].terminal -= i32::from(if inner { flow } else { -flow });
            if self.nodes[node].terminal == 0 {
                self.bereave(node);
            }
        }
    }

    /// A node whose way to its terminal is broken looks for another.
    fn bereave(&mut self, node: usize) {
        self.nodes[node].parent = ORPHAN;
        self.orphans.push_back(node as u32);
    }

    /// Steps from a node to its terminal, `None` where the way is broken.
    fn way(&mut self, start: usize) -> Option<u32> {
        let (mut node, mut steps) = (start, 0);
        loop {
            if self.nodes[node].stamp == self.time {
                steps += self.nodes[node].depth;
                break;
            }
            match self.nodes[node].parent {
                TERMINAL => {
                    self.nodes[node].stamp = self.time;
                    self.nodes[node].depth = 1;
                    steps += 1;
                    break;
                }
                ORPHAN | NONE => return None,
                up => {
                    node = self.step(node, up as usize);
                    steps += 1;
                }
            }
        }
        let (mut node, mut left) = (start, steps);
        while self.nodes[node].stamp != self.time {
            self.nodes[node].stamp = self.time;
            self.nodes[node].depth = left;
            left -= 1;
            node = self.step(node, usize::from(self.nodes[node].parent));
        }
        Some(steps)
    }

    fn adopt(&mut self, node: usize) {
        let own = self.nodes[node];
        let mut best: Option<(u32, usize)> = None;
        // Neighbours of the same tree, and whether flow can come from them or go to them.
        let mut kin = [(0, false); 8];
        for (d, kin) in kin.iter_mut().enumerate() {
            let at = self.step(node, d);
            let other = &self.nodes[at];
            if other.tree != own.tree {
                continue;
            }
            *kin = (at, if own.tree == 1 { other.residual[d ^ 1] } else { own.residual[d] } > 0);
            if kin.1
                && let Some(steps) = self.way(at)
                && best.is_none_or(|(least, _)| steps < least)
            {
                best = Some((steps, d));
            }
        }
        if let Some((steps, d)) = best {
            let own = &mut self.nodes[node];
            (own.parent, own.stamp, own.depth) = (d as u8, self.time, steps + 1);
            return;
        }
        for (d, (at, open)) in kin.into_iter().enumerate().filter(|(_, (at, _))| *at > 0) {
            if open {
                self.activate(at);
            }
            if usize::from(self.nodes[at].parent) == d ^ 1 {
                self.bereave(at);
            }
        }
        self.nodes[node].tree = 0;
        self.nodes[node].parent = NONE;
    }
}

/// A cost as a flow.
fn room_for(cost: i32) -> i16 {
    cost.clamp(0, DEAREST) as i16
}

#[cfg(test)]
mod tests;
