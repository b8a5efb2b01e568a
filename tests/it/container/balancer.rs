//! The compose file and the balancer in it.

use std::process::Command;

use super::{given, instruction, only, texts};
use crate::support::{root, text, tools::run};

/// The numbers that a directive of haproxy.cfg is given, in milliseconds.
#[track_caller]
fn milliseconds(directive: &str) -> u64 {
    let file = text("docker/haproxy.cfg");
    let rest = file.lines().find_map(|line| line.trim_start().strip_prefix(directive));
    let rest = rest.unwrap_or_else(|| panic!("haproxy.cfg has `{directive}`"));
    let word = rest.split_whitespace().next().expect("a time");
    match (word.strip_suffix("ms"), word.strip_suffix('s')) {
        (Some(number), _) => number.parse().expect("a number"),
        (None, Some(number)) => number.parse::<u64>().expect("a number") * 1000,
        (None, None) => panic!("`{directive}` has no unit"),
    }
}

/// A number behind a word of the servers' line.
#[track_caller]
fn of_servers(name: &str) -> u64 {
    let file = text("docker/haproxy.cfg");
    let line = file.lines().find(|line| line.trim_start().starts_with("default-server"));
    let mut words = line.expect("servers").split_whitespace().skip_while(|word| *word != name);
    let number = words.nth(1).unwrap_or_else(|| panic!("servers have `{name}`"));
    number.trim_end_matches("ms").parse().expect("a number")
}

#[test]
fn the_balancer_takes_its_configuration() {
    let mut check = Command::new("haproxy");
    check.args(["-c", "-f"]).arg(root("docker/haproxy.cfg"));
    for name in ["CUPWRIGHT_FRONT", "CUPWRIGHT_REPLICA_1", "CUPWRIGHT_REPLICA_2"] {
        check.env_remove(name);
    }
    run(check);
}

#[test]
fn a_replica_that_is_told_to_stop_is_left_alone_before_it_closes() {
    let compose = only("docker/compose.yaml");
    let unseen = (of_servers("inter") + milliseconds("timeout check")) * of_servers("fall");
    for replica in ["replica-1", "replica-2"] {
        let service = &compose["services"][replica];
        let command = texts(&service["command"]);
        let notice = given(&command, "--stop-notice-s");
        let within = given(&command, "--stop-within-s");
        assert!(unseen <= notice * 1000, "{unseen} ms until it is known, {notice} s of notice");
        assert!(milliseconds("timeout server") < within * 1000, "what is under way is finished");
        let grace = service["stop_grace_period"].as_str().expect("a time");
        let grace: u64 = grace.trim_end_matches('s').parse().expect("seconds");
        assert!(grace > notice + within, "{grace} s for {notice} s of notice, {within} s of drain");
    }
}

#[test]
fn every_service_of_the_compose_file_is_hardened_and_limited() {
    let compose = only("docker/compose.yaml");
    let services = compose["services"].as_object().expect("services");
    assert_eq!(services.keys().collect::<Vec<_>>(), ["replica-1", "replica-2", "balancer"]);
    for (name, service) in services {
        assert_eq!(service["read_only"], true, "{name}");
        assert_eq!(texts(&service["cap_drop"]), ["ALL"], "{name}");
        assert_eq!(texts(&service["security_opt"]), ["no-new-privileges:true"], "{name}");
        for limit in ["mem_limit", "cpus", "pids_limit"] {
            assert!(!service[limit].is_null(), "{name} has no {limit}");
        }
        assert!(service["privileged"].is_null() && service["cap_add"].is_null(), "{name}");
        let open = &service["ports"];
        if name == "balancer" {
            assert!(texts(open).iter().all(|port| port.starts_with("127.0.0.1:")), "{open}");
        } else {
            assert!(open.is_null(), "{name} is reached through the balancer alone");
            let file = text("docker/haproxy.cfg");
            assert!(file.contains(&format!("-{name}:8080}}")), "the balancer knows {name}");
        }
    }
}

/// An address that others reach is never served without keys.
#[test]
fn what_listens_for_others_takes_keys_from_the_place_where_they_are_mounted() {
    let compose = only("docker/compose.yaml");
    let default = instruction("CMD");
    assert!(default.contains(&"0.0.0.0:8080".to_owned()), "{default:?}");
    let mount = &compose["services"]["replica-1"]["configs"][0]["target"];
    let mount = mount.as_str().expect("a path");
    assert!(default.windows(2).any(|pair| pair == ["--keys", mount]), "{default:?}");
    for replica in ["replica-1", "replica-2"] {
        let command = texts(&compose["services"][replica]["command"]);
        assert!(command.contains(&format!("--keys={mount}")), "{command:?}");
        assert!(!command.contains(&"--open".to_owned()));
        let network = &compose["networks"]["inside"]["ipam"]["config"][0]["subnet"];
        let believed = format!("--trusted-proxy={}", network.as_str().expect("a network"));
        assert!(command.contains(&believed), "{believed} in {command:?}");
    }
}
