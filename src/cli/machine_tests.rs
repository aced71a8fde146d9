use super::{address_space, group_limit, kibibytes};

#[test]
fn free_memory_is_read_from_what_the_system_says() {
    let text = "MemTotal:       24000000 kB\nMemAvailable:   23000000 kB\n";
    assert_eq!(
        kibibytes(text, "MemAvailable:"),
        Some(23_000_000.0 * 1_024.0)
    );
    assert_eq!(kibibytes(text, "SwapFree:"), None);
}

#[test]
fn a_limit_of_the_shell_is_read_and_none_is_none() {
    let line = |limit: &str| {
        format!(
            "Limit  Soft Limit\nMax address space         {limit}           unlimited            bytes\n"
        )
    };
    assert_eq!(address_space(&line("2147483648")), Some(2_147_483_648.0));
    assert_eq!(address_space(&line("unlimited")), None);
}

#[test]
fn a_container_is_held_by_the_tightest_of_its_groups() {
    let read = |path: &str| match path {
        "/sys/fs/cgroup/batch/job/memory.max" => Some("max\n".to_owned()),
        "/sys/fs/cgroup/batch/memory.max" => Some("4000000000\n".to_owned()),
        "/sys/fs/cgroup/memory/job/memory.limit_in_bytes" => Some("3000000000\n".to_owned()),
        _ => None,
    };
    assert_eq!(group_limit("0::/batch/job\n", &read), Some(4e9));
    assert_eq!(group_limit("5:cpu:/job\n4:memory:/job\n", &read), Some(3e9));
    assert_eq!(group_limit("0::/\n", &read), None);
}
