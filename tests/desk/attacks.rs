//! Who does not know the secret, comes from elsewhere or names a path gets nothing.

use serde_json::json;

use super::program::Desk;

#[test]
fn a_request_without_the_secret_or_from_elsewhere_is_refused() {
    let desk = Desk::of_small_field();
    let own = desk.own_headers();
    let with = |name: &str, value: Option<&str>| -> u16 {
        let kept = own.iter().filter(|(own, _)| *own != name);
        let mut headers: Vec<(&str, &str)> = kept.map(|(n, v)| (*n, v.as_str())).collect();
        headers.extend(value.map(|value| (name, value)));
        desk.raw("GET /api/state", &headers, b"").status
    };
    assert_eq!(with("Accept", None), 200, "the page's own request");
    assert_eq!(with("Cookie", None), 403);
    let wrong = format!("desk-{}={}", desk.port, "0".repeat(64));
    assert_eq!(with("Cookie", Some(&wrong)), 403);
    assert_eq!(with("Host", Some("evil.example")), 403);
    let other_name = format!("evil.example:{}", desk.port);
    assert_eq!(
        with("Host", Some(&other_name)),
        403,
        "a name that was bent to this machine"
    );
    assert_eq!(with("Origin", Some("http://evil.example")), 403);
    assert_eq!(with("Origin", Some("null")), 403);
    assert_eq!(with("Sec-Fetch-Site", Some("cross-site")), 403);
    for page in ["/", "/desk.js", "/api/words", "/nothing"] {
        let host = format!("127.0.0.1:{}", desk.port);
        let reply = desk.raw(&format!("GET {page}"), &[("Host", &host)], b"");
        assert_eq!(reply.status, 403, "{page}");
    }
}

#[test]
fn the_address_opens_the_page_once_and_the_secret_leaves_the_address() {
    let desk = Desk::of_small_field();
    let host = format!("127.0.0.1:{}", desk.port);
    let line = format!("GET /?token={}", desk.token);
    let reply = desk.raw(&line, &[("Host", &host)], b"");
    assert_eq!(reply.status, 303, "{}", reply.head);
    let head = reply.head.to_lowercase();
    assert!(head.contains("location: /\r\n"), "{head}");
    assert!(
        head.contains("httponly") && head.contains("samesite=strict"),
        "{head}"
    );
    let evil = desk.raw(&line, &[("Host", "evil.example")], b"");
    assert_eq!(evil.status, 403);
    assert!(!evil.head.contains("cookie"));
}

#[test]
fn every_reply_carries_the_policy() {
    let desk = Desk::of_small_field();
    for address in ["/", "/desk.js", "/api/state", "/nothing"] {
        let head = desk.get(address).head.to_lowercase();
        assert!(
            head.contains("content-security-policy: default-src 'none'; script-src 'self'"),
            "{address}: {head}"
        );
        assert!(!head.contains("unsafe-inline"), "{address}: {head}");
        assert!(head.contains("x-content-type-options: nosniff"), "{head}");
        assert!(head.contains("referrer-policy: no-referrer"), "{head}");
    }
}

#[test]
fn no_path_leads_out_of_the_folder() {
    let desk = Desk::of_small_field();
    std::fs::write(desk.folder.join("plan.toml"), super::small_field::PLAN).unwrap();
    let outside = desk.folder.parent().unwrap().join("outside.csv");
    for name in [
        "..%2Foutside.csv",
        "%2e%2e%2foutside.csv",
        "..%5coutside.csv",
        ".hidden",
        "a%2Fb.csv",
        "a:b",
        "..",
        "%00",
    ] {
        let reply = desk.ask("test", &format!("PUT /api/files/{name}"), b"id,ph\n");
        assert!(
            [400, 404].contains(&reply.status),
            "{name}: {}",
            reply.status
        );
    }
    assert!(!outside.exists());
    let rules = desk.ask("test", "PUT /api/files/desk-rules.toml", b"id,ph\n");
    assert_eq!(rules.status, 400, "the page writes limits there");
    assert!(!desk.folder.join("desk-rules.toml").exists());
    let plan = desk.ask("test", "PUT /api/files/plan.toml?replace=1", b"season = 1");
    assert_eq!(plan.status, 400, "the plan is changed by keeping only");
    for name in ["../boundary.geojson", "/etc/passwd", "..", ""] {
        let first = json!({"first": {"boundary": name, "points": ["cores.csv"]}});
        assert_eq!(desk.post("/api/columns", &first).status, 400, "{name}");
        let first = json!({"first": {"boundary": "boundary.geojson", "points": [name]}});
        assert_eq!(desk.post("/api/columns", &first).status, 400, "{name}");
        let after = json!({"out": name, "harvest": ["cores.csv"]});
        assert_eq!(desk.post("/api/after", &after).status, 400, "{name}");
        let id = &desk.answer(&json!([])).done()["id"];
        let take = json!({"answer": id, "out": name});
        assert_eq!(desk.post("/api/take", &take).status, 400, "{name}");
    }
    let id = desk.answer(&json!([])).done()["id"].clone();
    for path in ["../plan.toml", "/etc/passwd", "plan.toml"] {
        let reply = desk.get(&format!("/api/answers/{id}/file?path={path}"));
        assert_eq!(reply.status, 404, "{path}");
    }
    for key in [
        "boundary.file",
        "rules.file",
        "points",
        "past.runs",
        "prices.a.b",
        "prices.",
        "__proto__",
    ] {
        let change = json!([{"what": "set", "key": key, "value": "/etc/passwd"}]);
        assert_eq!(desk.answer(&change).status, 400, "{key}");
    }
    assert_eq!(desk.plan_text(), super::small_field::PLAN);
}

#[test]
fn more_than_the_desk_takes_is_refused() {
    let desk = Desk::of_small_field();
    let own = desk.own_headers();
    let mut headers: Vec<(&str, &str)> = own.iter().map(|(n, v)| (*n, v.as_str())).collect();
    headers.push(("Content-Length", "300000000"));
    let reply = desk.raw("PUT /api/files/large.csv", &headers, b"");
    assert_eq!(reply.status, 413);
    assert!(String::from_utf8_lossy(&reply.body).contains("at most 256 MB"));
    assert!(!desk.folder.join("large.csv").exists());
    let long = vec![b' '; 3 << 20];
    let reply = desk.try_ask("test", "POST /api/answer", &long);
    // The connection may be closed before the rest of the request was sent.
    assert!(
        reply.as_ref().map_or(true, |reply| reply.status == 413),
        "{reply:?}"
    );
    let change = json!({"what": "set", "key": "field", "value": "a"});
    let many = json!(vec![change; 2_001]);
    assert_eq!(desk.answer(&many).status, 429);
    for body in [
        "",
        "{}",
        "[1,",
        "{\"plan\": 7}",
        "{\"plan\": \"x\", \"changes\": [{\"what\": \"run\"}]}",
    ] {
        let reply = desk.ask("test", "POST /api/answer", body.as_bytes());
        assert_eq!(reply.status, 400, "{body}");
        assert!(reply.json()["problems"][0].is_string());
    }
}

#[test]
fn texts_of_the_user_stay_texts() {
    let desk = Desk::of_small_field();
    let evil = "<img src=x onerror=alert(1)></script>";
    let change = json!([{"what": "set", "key": "field", "value": evil}]);
    let answer = desk.answer(&change).done();
    for zone in answer["sheet"]["zones"].as_array().unwrap() {
        let address = format!("/api/answers/{}/zones/{}", answer["id"], zone["zone"]);
        let chapter = desk.get(&address).done();
        let chapter = chapter["markup"].as_str().unwrap();
        assert!(chapter.contains("class=\"barrel\""), "{chapter}");
        assert!(
            !chapter.contains("<img") && !chapter.contains("<script"),
            "{chapter}"
        );
    }
    let change = json!([{"what": "set", "key": "field", "value": "two\nlines"}]);
    assert_eq!(desk.answer(&change).status, 400);
}
