//! Stage tests: deliver.

#[path = "../deliver/invented_case.rs"]
mod invented_case;

use invented_case::Invented;
use lowstave::deliver::{DeliverOptions, prepare};

#[test]
fn dump() {
    let invented = Invented::small();
    let delivery = prepare(&invented.case(), &DeliverOptions::default()).unwrap();
    for f in &delivery.files {
        println!("==== {} {}", f.path, f.bytes.len());
        if !f.path.ends_with(".tif") {
            println!("{}", String::from_utf8_lossy(&f.bytes));
        }
    }
}
