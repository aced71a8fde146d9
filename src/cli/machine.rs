//! What this machine has free: memory by the system, by the control group of a container and by `ulimit`, and room on the disk.

use std::fs;
use std::path::Path;

use crate::engine::Grant;
use crate::units::DataSize;

/// What a run may take here; `memory` is what was asked for on the command line.
pub(super) fn grant(memory: Option<DataSize>, out: Option<&Path>) -> Grant {
    Grant {
        memory_asked: memory,
        memory_free: free_memory().map(DataSize::from_bytes),
        disk_free: out.and_then(free_disk).map(DataSize::from_bytes),
    }
}

/// The least of what the system, the container and `ulimit -v` leave; `None` where none of them says it.
fn free_memory() -> Option<f64> {
    let read = |path: &str| fs::read_to_string(path).ok();
    let system = read("/proc/meminfo").and_then(|text| kibibytes(&text, "MemAvailable:"));
    let limit = read("/proc/self/limits").and_then(|text| address_space(&text));
    let used = read("/proc/self/status").and_then(|text| kibibytes(&text, "VmSize:"));
    let own = limit.map(|limit| (limit - used.unwrap_or_default()).max(0.0));
    let group = read("/proc/self/cgroup").and_then(|text| group_limit(&text, &read));
    [system, own, group].into_iter().flatten().reduce(f64::min)
}

/// The number of a line such as `MemAvailable:   23000000 kB`, in bytes.
fn kibibytes(text: &str, name: &str) -> Option<f64> {
    let line = text.lines().find_map(|line| line.strip_prefix(name))?;
    let number: f64 = line.split_whitespace().next()?.parse().ok()?;
    Some(number * 1_024.0)
}

/// The soft limit of a process's memory; `None` where there is none.
fn address_space(text: &str) -> Option<f64> {
    let line = text
        .lines()
        .find_map(|line| line.strip_prefix("Max address space"))?;
    line.split_whitespace().next()?.parse().ok()
}

/// The least limit of the control groups that hold this process, of either version of them.
fn group_limit(own: &str, read: &impl Fn(&str) -> Option<String>) -> Option<f64> {
    let mut least: Option<f64> = None;
    for line in own.lines() {
        let mut fields = line.splitn(3, ':').skip(1);
        let (root, file) = match fields.next()? {
            "" => ("/sys/fs/cgroup", "memory.max"),
            "memory" => ("/sys/fs/cgroup/memory", "memory.limit_in_bytes"),
            _ => continue,
        };
        // A group is held by the limits of all that it lies in.
        for folder in Path::new(fields.next()?).ancestors() {
            let folder = folder.display().to_string();
            let path = format!("{root}{}/{file}", folder.trim_end_matches('/'));
            let limit = read(&path).and_then(|text| text.trim().parse::<f64>().ok());
            least = limit.map_or(least, |limit| {
                Some(least.map_or(limit, |least| least.min(limit)))
            });
        }
    }
    least
}

/// Room on the disk that holds a folder, or would.
#[cfg(target_os = "linux")]
fn free_disk(out: &Path) -> Option<f64> {
    let there = out.ancestors().find(|folder| folder.exists());
    let folder = there.filter(|folder| !folder.as_os_str().is_empty());
    let disk = rustix::fs::statvfs(folder.unwrap_or(Path::new("."))).ok()?;
    // A file system of the kernel has no blocks at all; what it refuses is told when it does.
    (disk.f_blocks > 0).then_some(disk.f_bavail as f64 * disk.f_frsize as f64)
}

#[cfg(not(target_os = "linux"))]
fn free_disk(_: &Path) -> Option<f64> {
    None
}

#[cfg(test)]
#[path = "machine_tests.rs"]
mod tests;
