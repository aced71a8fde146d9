//! Stage tests: deliver.

#[path = "../deliver/invented_case.rs"]
mod invented_case;

use invented_case::Invented;
use lowstave::deliver::{DeliverOptions, prepare};

#[test]
fn dump() {
    let invented = Invented::small();
    let delivery = prepare(&invented.case(), &DeliverOptions::default()).unwrap();
    let out = std::path::Path::new("/tmp/deliver_dump");
    lowstave::deliver::write(&delivery, out).unwrap();
    let grid = prepare(&invented.case(), &DeliverOptions { task_data: lowstave::deliver::TaskDataForm::Grid }).unwrap();
    lowstave::deliver::write(&grid, std::path::Path::new("/tmp/deliver_dump_grid")).unwrap();
}
