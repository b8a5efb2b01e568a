//! The manifests for Kubernetes: valid, hardened, and with numbers that fit each other.

use std::fs;

use cupwright::keys::KeyRing;
use serde_json::{Value, json};

use super::{given, only, texts, tool};
use crate::{
    cli,
    support::{root, text, tools::run},
};

const FOLDER: &str = "docker/kubernetes";

/// Every manifest, with its path.
fn manifests() -> Vec<(String, Value)> {
    let mut names: Vec<String> = fs::read_dir(root(FOLDER))
        .expect("a folder")
        .map(|entry| entry.expect("a file").file_name().into_string().expect("text"))
        .collect();
    names.sort();
    let all: Vec<(String, Value)> = names
        .iter()
        .map(|name| format!("{FOLDER}/{name}"))
        .map(|path| (path.clone(), only(&path)))
        .collect();
    let kinds: Vec<&Value> = all.iter().map(|(_, manifest)| &manifest["kind"]).collect();
    for kind in
        ["ConfigMap", "Deployment", "NetworkPolicy", "PodDisruptionBudget", "Secret", "Service"]
    {
        assert!(kinds.contains(&&json!(kind)), "there is a {kind}");
    }
    all
}

#[track_caller]
fn manifest(kind: &str) -> Value {
    let found = manifests().into_iter().find(|(_, manifest)| manifest["kind"] == kind);
    found.unwrap_or_else(|| panic!("there is a {kind}")).1
}

/// The pods of the deployment.
fn pods() -> Value {
    manifest("Deployment")["spec"]["template"]["spec"].clone()
}

fn container() -> Value {
    let pods = pods();
    let all = pods["containers"].as_array().expect("containers");
    assert_eq!(all.len(), 1, "the service needs nothing beside it");
    all[0].clone()
}

/// The validator has the schemas of the Kubernetes API itself; `--strict` knows no other property.
#[test]
fn a_validator_with_the_schemas_of_kubernetes_takes_every_manifest_and_refuses_a_broken_one() {
    for (path, _) in manifests() {
        let mut validate = tool("kubernetes-validate");
        validate.args(["--strict", "--no-warn"]).arg(root(&path));
        run(validate);
    }
    let folder = tempfile::tempdir().expect("a folder");
    let broken = folder.path().join("broken.yaml");
    let whole = text("docker/kubernetes/deployment.yaml");
    let misspelt = whole.replace("readinessProbe", "readynessProbe");
    assert_ne!(whole, misspelt);
    fs::write(&broken, misspelt).expect("a file");
    let output =
        tool("kubernetes-validate").arg("--strict").arg(&broken).output().expect("it runs");
    assert!(!output.status.success(), "a misspelt property is refused");
}

/// Source: kubernetes.io, "Recommended Labels" (from memory).
#[test]
fn every_manifest_has_the_recommended_labels_and_names_no_namespace() {
    for (path, manifest) in manifests() {
        let metadata = &manifest["metadata"];
        assert!(metadata.get("namespace").is_none(), "{path} goes where it is applied");
        for label in ["name", "instance", "version", "component", "part-of"] {
            let label = format!("app.kubernetes.io/{label}");
            assert!(metadata["labels"][&label].is_string(), "{path} has no label {label}");
        }
        let version = &metadata["labels"]["app.kubernetes.io/version"];
        assert_eq!(version, env!("CARGO_PKG_VERSION"), "{path}");
    }
}

/// Source: kubernetes.io, "Pod Security Standards", profile Restricted (from memory).
#[test]
fn pods_have_no_rights_that_they_do_not_need() {
    let (pods, container) = (pods(), container());
    assert_eq!(pods["securityContext"]["runAsNonRoot"], true);
    assert!(pods["securityContext"]["runAsUser"].as_u64().expect("a user") >= 10_000);
    assert_eq!(pods["securityContext"]["seccompProfile"]["type"], "RuntimeDefault");
    assert_eq!(pods["automountServiceAccountToken"], false);
    assert_eq!(pods["enableServiceLinks"], false, "its variables would be taken for settings");
    for wide in ["hostNetwork", "hostPID", "hostIPC"] {
        assert!(pods.get(wide).is_none(), "{wide}");
    }
    let own = &container["securityContext"];
    assert_eq!(own["allowPrivilegeEscalation"], false);
    assert_eq!(own["readOnlyRootFilesystem"], true);
    assert_eq!(own["capabilities"], json!({ "drop": ["ALL"] }));
    for mount in container["volumeMounts"].as_array().expect("mounts") {
        assert_eq!(mount["readOnly"], true, "{mount}");
    }
    for share in ["requests", "limits"] {
        for what in ["cpu", "memory"] {
            assert!(container["resources"][share][what].is_string(), "{share} of {what}");
        }
    }
}

#[test]
fn the_user_of_the_pods_is_that_of_the_image() {
    let user = &pods()["securityContext"];
    let line = format!("USER {}:{}", user["runAsUser"], user["runAsGroup"]);
    assert!(text("docker/Dockerfile").lines().any(|one| one == line), "{line}");
}

#[test]
fn a_pod_is_taken_out_before_it_closes_and_has_time_to_finish() {
    let (pods, container) = (pods(), container());
    let arguments = texts(&container["args"]);
    let notice = given(&arguments, "--stop-notice-s");
    let within = given(&arguments, "--stop-within-s");
    let grace = pods["terminationGracePeriodSeconds"].as_u64().expect("seconds");
    assert!(grace > notice + within, "{grace} s for {notice} s of notice and {within} s of drain");
    let ready = &container["readinessProbe"];
    let seconds = |name: &str| ready[name].as_u64().unwrap_or_else(|| panic!("{name} is set"));
    let unseen = seconds("periodSeconds") * seconds("failureThreshold") + seconds("timeoutSeconds");
    assert!(unseen < notice, "{unseen} s until it is known, {notice} s of notice");
    assert_eq!(ready["httpGet"]["path"], "/health/ready");
    for probe in ["startupProbe", "livenessProbe"] {
        assert_eq!(container[probe]["httpGet"]["path"], "/health/live", "{probe}");
        assert_eq!(container[probe]["httpGet"]["port"], "http", "{probe}");
    }
}

#[test]
fn one_replica_always_remains_and_all_of_them_are_found() {
    let deployment = &manifest("Deployment")["spec"];
    let replicas = deployment["replicas"].as_u64().expect("a number");
    assert!(replicas >= 2);
    assert_eq!(deployment["strategy"]["rollingUpdate"]["maxUnavailable"], 0);
    let budget = &manifest("PodDisruptionBudget")["spec"];
    let least = budget["minAvailable"].as_u64().expect("a number");
    assert!(least >= 1 && least < replicas, "maintenance must go on, and one replica stay");
    let labels = deployment["template"]["metadata"]["labels"].as_object().expect("labels");
    let spread = &deployment["template"]["spec"]["topologySpreadConstraints"][0];
    let selectors = [
        &deployment["selector"]["matchLabels"],
        &budget["selector"]["matchLabels"],
        &spread["labelSelector"]["matchLabels"],
        &manifest("Service")["spec"]["selector"],
        &manifest("NetworkPolicy")["spec"]["podSelector"]["matchLabels"],
    ];
    for selector in selectors {
        let selector = selector.as_object().expect("labels");
        assert!(selector.len() >= 2);
        for (name, value) in selector {
            assert_eq!(labels.get(name), Some(value), "{name} selects the pods");
        }
    }
    let port = &container()["ports"][0];
    assert_eq!(manifest("Service")["spec"]["ports"][0]["targetPort"], port["name"]);
    let listen = format!("--listen=0.0.0.0:{}", port["containerPort"]);
    assert!(texts(&container()["args"]).contains(&listen), "{listen}");
}

#[test]
fn nobody_comes_in_unnamed_and_nothing_goes_out() {
    let policy = &manifest("NetworkPolicy")["spec"];
    assert_eq!(policy["policyTypes"], json!(["Ingress", "Egress"]));
    assert_eq!(policy["egress"], json!([]));
    let rules = policy["ingress"].as_array().expect("rules");
    for rule in rules {
        let from = rule["from"].as_array().expect("who");
        assert!(!from.is_empty() && from.iter().all(|peer| *peer != json!({})), "{rule}");
        assert_eq!(rule["ports"], json!([{ "protocol": "TCP", "port": "http" }]));
    }
}

/// Every file that the arguments name is mounted there, and what is mounted can be loaded.
#[test]
fn the_examples_are_a_book_and_keys_that_the_program_takes() {
    let folder = tempfile::tempdir().expect("a folder");
    let started = folder.path().join("new");
    let output = cli::run(&["new", started.to_str().unwrap()], "");
    assert!(output.status.success(), "{}", cli::complained(&output));
    let map = &manifest("ConfigMap")["data"];
    let (pods, arguments) = (pods(), texts(&container()["args"]));
    let items = &pods["volumes"][1]["configMap"]["items"];
    let items = items.as_array().expect("items");
    assert_eq!(items.len(), map.as_object().expect("files").len(), "every file is mounted");
    for item in items {
        let path = item["path"].as_str().unwrap();
        let shown = map[item["key"].as_str().unwrap()].as_str().expect("a file of the map");
        let written = fs::read_to_string(started.join(path)).expect("a file of the starter");
        assert_eq!(shown, written, "{path} is what `cupwright new` writes");
    }
    let mounted = container()["volumeMounts"].clone();
    for (flag, volume, file) in [
        ("--keys", "keys", "/keys.json"),
        ("--book", "book", "/book.json"),
        ("--sites", "book", "/sites"),
    ] {
        let mount = mounted.as_array().unwrap().iter().find(|mount| mount["name"] == volume);
        let folder = mount.expect("it is mounted")["mountPath"].as_str().unwrap();
        let argument = format!("{flag}={folder}{file}");
        assert!(arguments.contains(&argument), "{argument} in {arguments:?}");
    }
    let secret = manifest("Secret");
    assert_eq!(pods["volumes"][0]["secret"]["secretName"], secret["metadata"]["name"]);
    let keys = secret["stringData"]["keys.json"].as_str().expect("a file of keys");
    let ring = KeyRing::read("keys.json", keys).expect("the program takes it");
    assert!(!ring.is_empty());
}
