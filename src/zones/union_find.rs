//! Which members of a set belong together, pair by pair.

/// Groups of the numbers below a count; the least member stands for its group.
#[derive(Debug, Clone)]
pub(super) struct UnionFind {
    parent: Vec<u32>,
}

impl UnionFind {
    /// Every number by itself.
    pub(super) fn new(count: usize) -> Self {
        Self {
            parent: (0..count as u32).collect(),
        }
    }

    /// The member that stands for a number's group.
    pub(super) fn root(&mut self, mut member: u32) -> u32 {
        while self.parent[member as usize] != member {
            let above = self.parent[member as usize];
            self.parent[member as usize] = self.parent[above as usize];
            member = self.parent[member as usize];
        }
        member
    }

    /// Puts two groups together.
    pub(super) fn unite(&mut self, a: u32, b: u32) {
        let (a, b) = (self.root(a), self.root(b));
        self.parent[a.max(b) as usize] = a.min(b);
    }

    /// Puts one group under another, whose own member then stands for both.
    pub(super) fn put_under(&mut self, member: u32, keeper: u32) {
        self.parent[member as usize] = keeper;
    }
}
