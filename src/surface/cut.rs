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
    /// Flow still possible from a node to each neighbour; 16 bits, so that little memory is walked.
    residual: Vec<[i16; 8]>,
    /// Above 0: still possible from the inner terminal; below 0: to the outer terminal.
    terminal: Vec<i32>,
    /// 0 free, 1 tree of the inner terminal, 2 tree of the outer.
    tree: Vec<u8>,
    parent: Vec<u8>,
    stamp: Vec<u32>,
    depth: Vec<u32>,
    active: VecDeque<u32>,
    waiting: Vec<bool>,
    orphans: VecDeque<u32>,
    time: u32,
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
            residual: vec![[0; 8]; n],
            terminal: vec![0; n],
            tree: vec![0; n],
            parent: vec![NONE; n],
            stamp: vec![0; n],
            depth: vec![0; n],
            active: VecDeque::new(),
            waiting: vec![false; n],
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
        self.terminal[node] += pull;
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
            self.residual[node][d] = room_for(parting[0]);
            self.residual[other][d ^ 1] = room_for(parting[1]);
        } else {
            self.terminal[other] -= parting[1];
            self.terminal[node] += parting[1];
            self.residual[node][d] = room_for(parting[0] + parting[1]);
        }
    }

    #[inline]
    fn step(&self, node: usize, d: usize) -> usize {
        (node as isize + self.offset[d]) as usize
    }

    fn activate(&mut self, node: usize) {
        if !self.waiting[node] {
            self.waiting[node] = true;
            self.active.push_back(node as u32);
        }
    }

    /// Splits the grid; true: inside. Nodes that no flow decides lie outside.
    pub fn split(mut self) -> Vec<bool> {
        for node in 0..self.terminal.len() {
            if self.terminal[node] != 0 {
                self.tree[node] = if self.terminal[node] > 0 { 1 } else { 2 };
                self.parent[node] = TERMINAL;
                self.depth[node] = 1;
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
                    self.waiting[node] = false;
                }
            }
        }
        let mut inside = Vec::with_capacity(self.width * self.height);
        for y in 0..self.height {
            inside.extend((0..self.width).map(|x| self.tree[self.node(x, y)] == 1));
        }
        inside
    }

    /// Grows the tree at an active node; the meeting edge (from the inner tree, direction) when trees touch.
    fn grow(&mut self, node: usize) -> Option<(usize, usize)> {
        let own = self.tree[node];
        if own == 0 {
            return None;
        }
        for d in 0..8 {
            let other = self.step(node, d);
            let room = if own == 1 { self.residual[node][d] } else { self.residual[other][d ^ 1] };
            if room == 0 {
                continue;
            }
            if self.tree[other] == 0 {
                self.tree[other] = own;
                self.parent[other] = (d ^ 1) as u8;
                self.stamp[other] = self.stamp[node];
                self.depth[other] = self.depth[node] + 1;
                self.activate(other);
            } else if self.tree[other] != own {
                return Some(if own == 1 { (node, d) } else { (other, d ^ 1) });
            } else if self.stamp[other] <= self.stamp[node] && self.depth[other] > self.depth[node] {
                self.parent[other] = (d ^ 1) as u8;
                self.stamp[other] = self.stamp[node];
                self.depth[other] = self.depth[node] + 1;
            }
        }
        None
    }

    fn augment(&mut self, from: usize, d: usize) {
        let to = self.step(from, d);
        let mut flow = self.residual[from][d];
        for (start, inner) in [(from, true), (to, false)] {
            let mut node = start;
            while self.parent[node] != TERMINAL {
                let up = self.parent[node] as usize;
                let next = self.step(node, up);
                flow = flow.min(if inner { self.residual[next][up ^ 1] } else { self.residual[node][up] });
                node = next;
            }
            flow = self.terminal[node].abs().min(flow.into()) as i16;
        }
        self.residual[from][d] -= flow;
        self.residual[to][d ^ 1] += flow;
        for (start, inner) in [(from, true), (to, false)] {
            let mut node = start;
            while self.parent[node] != TERMINAL {
                let up = self.parent[node] as usize;
                let next = self.step(node, up);
                let left = if inner {
                    self.residual[next][up ^ 1] -= flow;
                    self.residual[node][up] += flow;
                    self.residual[next][up ^ 1]
                } else {
                    self.residual[node][up] -= flow;
                    self.residual[next][up ^ 1] += flow;
                    self.residual[node][up]
                };
                if left == 0 {
                    self.parent[node] = ORPHAN;
                    self.orphans.push_back(node as u32);
                }
                node = next;
            }
            self.terminal[node] -= i32::from(if inner { flow } else { -flow });
            if self.terminal[node] == 0 {
                self.parent[node] = ORPHAN;
                self.orphans.push_back(node as u32);
            }
        }
    }

    /// Steps from a node to its terminal, `None` where the way is broken.
    fn way(&mut self, start: usize) -> Option<u32> {
        let (mut node, mut steps) = (start, 0);
        loop {
            if self.stamp[node] == self.time {
                steps += self.depth[node];
                break;
            }
            match self.parent[node] {
                TERMINAL => {
                    self.stamp[node] = self.time;
                    self.depth[node] = 1;
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
        while self.stamp[node] != self.time {
            self.stamp[node] = self.time;
            self.depth[node] = left;
            left -= 1;
            node = self.step(node, self.parent[node] as usize);
        }
        Some(steps)
    }

    fn adopt(&mut self, node: usize) {
        let own = self.tree[node];
        let room = |s: &Self, other: usize, d: usize| {
            if own == 1 { s.residual[other][d ^ 1] } else { s.residual[node][d] }
        };
        let mut best: Option<(u32, usize)> = None;
        for d in 0..8 {
            let other = self.step(node, d);
            if room(self, other, d) == 0 || self.tree[other] != own {
                continue;
            }
            if let Some(steps) = self.way(other)
                && best.is_none_or(|(least, _)| steps < least)
            {
                best = Some((steps, d));
            }
        }
        if let Some((steps, d)) = best {
            self.parent[node] = d as u8;
            self.stamp[node] = self.time;
            self.depth[node] = steps + 1;
            return;
        }
        for d in 0..8 {
            let other = self.step(node, d);
            if self.tree[other] != own {
                continue;
            }
            if room(self, other, d) > 0 {
                self.activate(other);
            }
            if self.parent[other] == (d ^ 1) as u8 {
                self.parent[other] = ORPHAN;
                self.orphans.push_back(other as u32);
            }
        }
        self.tree[node] = 0;
        self.parent[node] = NONE;
    }
}

/// A cost as a flow.
fn room_for(cost: i32) -> i16 {
    cost.clamp(0, DEAREST) as i16
}

#[cfg(test)]
mod tests;
