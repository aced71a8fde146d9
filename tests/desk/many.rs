//! Many questions at once: each window is answered, and a newer one of the same window stops the older.

use std::sync::Mutex;

use serde_json::json;

use super::program::{Desk, Reply};

fn at_once(desk: &Desk, count: usize, window: impl Fn(usize) -> String + Sync) -> Vec<Reply> {
    let plan = desk.plan();
    let replies = Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        for at in 0..count {
            let (plan, replies, window) = (&plan, &replies, &window);
            scope.spawn(move || {
                let price = format!("{} USD/ton", 20 + at % 8);
                let changes = json!([{"what": "set", "key": "prices.lime", "value": price}]);
                let body = json!({"plan": plan, "changes": changes});
                let body = serde_json::to_vec(&body).unwrap();
                let reply = desk.ask(&window(at), "POST /api/answer", &body);
                replies.lock().unwrap().push(reply);
            });
        }
    });
    replies.into_inner().unwrap()
}

#[test]
fn two_hundred_windows_are_all_answered() {
    let desk = Desk::of_small_field();
    let replies = at_once(&desk, 200, |at| format!("window {at}"));
    assert_eq!(replies.len(), 200);
    // More windows are told apart than are ever open; past that number they share turns, and a shared turn may be stopped.
    let mut answered = 0;
    for reply in &replies {
        match reply.status {
            200 => answered += 1,
            410 => {}
            other => panic!("{other}: {}", String::from_utf8_lossy(&reply.body)),
        }
    }
    assert_eq!(answered, 200);
    assert_eq!(desk.plan_text(), super::small_field::PLAN);
}

#[test]
fn of_two_hundred_changes_of_one_window_the_last_is_answered() {
    let desk = Desk::of_small_field();
    let replies = at_once(&desk, 200, |_| "one".to_owned());
    let count = |status: u16| {
        replies
            .iter()
            .filter(|reply| reply.status == status)
            .count()
    };
    assert_eq!(
        count(200) + count(410),
        200,
        "{:?}",
        replies.iter().map(|r| r.status).collect::<Vec<_>>()
    );
    assert!(
        count(200) >= 1 && count(410) > 100,
        "{} were answered",
        count(200)
    );
    assert_eq!(desk.answer(&json!([])).status, 200, "and the desk goes on");
}
