//! `report.txt`, `report.html` and `explain`.

use std::path::Path;

use lowstave::choice::{ProductWorth, Saving};
use lowstave::rates::CutWord;
use lowstave::units::{MassPerArea, ProductRate};
use quick_xml::events::Event;

use super::{Invented, delivered, text_of};

/// Everything that a file of the user's may contain.
const HOSTILE: &str = "=1+1 <script>alert(1)</script> \"&' \u{1b}[31m \u{202e}end\nnext";

fn hostile() -> Invented {
    let mut invented = Invented::small();
    let finding = &mut invented.diagnosis.zones[0].findings[0];
    let prescription = &mut invented.prescription;
    let texts = [
        &mut invented.settings.field,
        &mut prescription.zones[0].reason,
        &mut prescription.products[1].label,
        &mut prescription.recipe.as_mut().unwrap().ingredients[1].label,
        &mut invented.remarks[0].what,
        &mut finding.sentence,
        &mut finding.source,
    ];
    for text in texts {
        HOSTILE.clone_into(text);
    }
    invented
}

#[test]
fn the_text_fits_80_columns_and_says_first_what_to_do() {
    let text = text_of(&delivered(&Invented::small()), "report.txt");
    for text in [
        &text,
        &text_of(&delivered(&hostile()), "report.txt"),
        &text_of(&delivered(&Invented::metric()), "report.txt"),
    ] {
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{line}");
            assert_eq!(line, line.trim_end());
        }
    }
    let place = |word: &str| {
        text.find(word)
            .unwrap_or_else(|| panic!("\"{word}\" is missing"))
    };
    let chapters = [
        "INVENTED FIELD: CORN 2027",
        "DO FIRST",
        "WHAT GOES WHERE",
        "BUY AND PAY",
        "WHY",
        "CAUTIONS",
    ];
    assert!(
        chapters
            .windows(2)
            .all(|pair| place(pair[0]) < place(pair[1]))
    );
}

#[test]
fn what_varying_is_worth_reads_as_no_cash_and_packs_say_what_they_cost_whole() {
    let mut invented = Invented::small();
    for product in &invented.prescription.products {
        invented.worth.products.push(ProductWorth {
            product: product.name.to_string(),
            label: product.label.clone(),
            is_varied: true,
            saved: Some(Saving::of(&[10.0, 11.0, 12.0, 11.0], &[0, 1, 2, 3])),
        });
    }
    let text = text_of(&delivered(&invented), "report.txt");
    let words: Vec<&str> = text.split_whitespace().collect();
    let text = words.join(" ");
    for said in [
        "Varying leaves less product on the wrong ground, worth USD",
        "That is no cash: what is missing counts 2 times",
        "; packs ",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
    assert!(!text.contains("saves"), "{text}");
}

/// One line of the report without its line breaks.
fn in_one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The cost of zone 1 holds a cover crop and loosening: both are named. What costs nothing is not, and what the
/// budget left out is not.
#[test]
fn the_bill_names_the_work_that_it_holds() {
    let mut invented = Invented::small();
    let files = delivered(&invented);
    for file in ["report.txt", "report.html"] {
        let text = in_one_line(&text_of(&files, file));
        let told = "Other work by zone: cover crop 1; loosening 1, 2";
        assert!(text.contains(told), "{file}: {text}");
        assert!(!text.contains("wheels 2"), "{file}");
    }
    for zone in &mut invented.prescription.zones {
        for fix in &mut zone.fixes {
            fix.left_out |= fix.product.is_none();
        }
    }
    let text = text_of(&delivered(&invented), "report.txt");
    assert!(!text.contains("Other work"), "{text}");
}

/// Zone 3 gets 2,260 of 4,520 lb/ac of lime; in zone 1 the season's rate is the whole need.
#[test]
fn a_rate_that_is_a_part_of_the_need_says_so_on_the_first_sheet() {
    let files = delivered(&Invented::small());
    for file in ["report.txt", "report.html"] {
        let text = in_one_line(&text_of(&files, file));
        let told = "Not all yet: lime 2,260 of 4,520 lb/ac (zone 3), rest over 1 more season.";
        assert!(text.contains(told), "{file}: {text}");
    }
    let mut whole = Invented::small();
    whole.prescription.zones[2].rates[2].seasons_after = 0;
    let text = text_of(&delivered(&whole), "report.txt");
    assert!(!text.contains("Not all yet"), "{text}");
}

#[test]
fn a_consultants_rate_that_was_cut_is_not_said_to_be_set_at_what_is_left() {
    let mut invented = Invented::small();
    let rate = &mut invented.prescription.zones[2].rates[2];
    rate.overridden = Some("seen on foot".to_owned());
    let set = in_one_line(&text_of(&delivered(&invented), "report.txt"));
    assert!(set.contains("set by the consultant: seen on foot"), "{set}");
    let rate = &mut invented.prescription.zones[2].rates[2];
    rate.cut = Some(CutWord {
        asked: ProductRate::Mass(MassPerArea::from_kilograms_per_hectare(33_625.5)),
        what: "cut to 2,000 lb/ac: the lime stays on the surface".to_owned(),
    });
    let files = delivered(&invented);
    let said = "he consultant set 30,000 lb/ac (seen on foot); it is cut to 2,000 lb/ac: the lime stays on the surface";
    for file in ["report.txt", "details.txt"] {
        let text = in_one_line(&text_of(&files, file));
        assert!(text.contains(said), "{file}: {text}");
        assert!(!text.contains("by the consultant: seen on foot"), "{file}");
    }
}

#[test]
fn the_details_hold_what_the_report_leaves_out() {
    let text = text_of(&delivered(&Invented::small()), "details.txt");
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
    assert!(text.contains("these 30 observations do not") && text.contains("support a map"));
    assert!(text.contains("Held back until this is fixed: starter."));
}

#[test]
fn text_of_the_users_cannot_drive_a_terminal_a_browser_or_a_spreadsheet() {
    let delivery = delivered(&hostile());
    for path in [
        "report.txt",
        "details.txt",
        "mix.txt",
        "mix.csv",
        "controller/shapefile/field_names.csv",
        "report.html",
    ] {
        let text = text_of(&delivery, path);
        assert!(
            text.chars()
                .all(|c| c == '\n' || !c.is_control() && c != '\u{202e}'),
            "{path} holds a control character"
        );
    }
    let html = text_of(&delivery, "report.html");
    assert!(!html.contains("<script>alert") && html.contains("&lt;script&gt;alert"));
    assert_eq!(html.matches("<script>").count(), 1, "only our own script");
    for path in ["mix.csv", "controller/shapefile/field_names.csv"] {
        for record in csv::Reader::from_reader(text_of(&delivery, path).as_bytes()).records() {
            assert!(
                record
                    .unwrap()
                    .iter()
                    .all(|cell| !cell.starts_with(['=', '+', '-', '@'])),
                "{path} holds a formula"
            );
        }
    }
    for file in delivery.files.iter().filter(|file| {
        Path::new(&file.path)
            .extension()
            .is_some_and(|end| end == "dbf")
    }) {
        // Behind the header a table holds rows of text, whose only other bytes are the mark of its end and UTF-8.
        let header = usize::from(u16::from_le_bytes([file.bytes[8], file.bytes[9]]));
        let rows = String::from_utf8(file.bytes[header..file.bytes.len() - 1].to_vec())
            .expect("UTF-8, cut between characters");
        assert!(
            rows.chars().all(|c| !c.is_control() && c != '\u{202e}'),
            "{} holds a control character",
            file.path
        );
    }
    let folder = tempfile::tempdir().unwrap();
    lowstave::deliver::write(&delivery, &folder.path().join("out")).unwrap();
    let explained = lowstave::deliver::explain(&folder.path().join("out"), 1).unwrap();
    assert!(
        explained.contains("<script>alert(1)</script>")
            && explained.chars().all(|c| c == '\n' || !c.is_control()),
        "{explained}"
    );
    let zones = super::geojson::zones(&text_of(&delivery, "prescription.geojson"));
    assert_eq!(
        zones[0].0["reason"], HOSTILE,
        "JSON keeps the text as it is"
    );
    let record: serde_json::Value =
        serde_json::from_slice(delivery.get("run.json").unwrap()).unwrap();
    assert_eq!(record["settings"]["field"], HOSTILE);
}

#[test]
fn the_page_is_well_formed_and_asks_the_network_for_nothing() {
    for invented in [Invented::small(), Invented::metric(), hostile()] {
        let html = text_of(&delivered(&invented), "report.html");
        // `src`, `url(` and `href` to anything but the page itself or a picture inside it would be a request.
        assert!(
            !html.contains("http://")
                && !html.contains("https://")
                && !html.contains("src=")
                && !html.contains("@import")
        );
        assert!(html.split("url(").skip(1).all(|rest| rest.starts_with('#')));
        assert!(
            html.split("href=\"")
                .skip(1)
                .all(|rest| rest.starts_with('#') || rest.starts_with("data:image/png;base64,"))
        );
        // The pictures are XML inside HTML: every tag that is opened is closed.
        for picture in html.split("<svg").skip(1) {
            let picture = format!("<svg{}</svg>", picture.split("</svg>").next().unwrap());
            let mut reader = quick_xml::Reader::from_str(&picture);
            while !matches!(
                reader
                    .read_event()
                    .unwrap_or_else(|error| panic!("{error}: {picture}")),
                Event::Eof
            ) {}
        }
    }
}

#[test]
fn every_zone_can_be_reached_and_every_picture_has_words() {
    let html = text_of(&delivered(&Invented::small()), "report.html");
    for zone in 1..=3 {
        assert!(
            html.contains(&format!(
                "<a class=\"zone\" href=\"#zone-{zone}\" data-card=\"card-{zone}\""
            )) && html.contains(&format!("id=\"card-{zone}\"")),
            "zone {zone} on the map"
        );
        assert!(
            html.contains(&format!("id=\"zone-{zone}\"")),
            "the chapter of zone {zone}"
        );
    }
    for picture in html.split("<svg").skip(1) {
        let tag = picture.split('>').next().unwrap();
        assert!(
            tag.contains("aria-label=") || tag.contains("aria-hidden=\"true\""),
            "{tag}"
        );
    }
    assert!(html.contains("carbon stands at 28 percent of its need"));
}

#[test]
fn the_page_is_small_for_65_hectares_at_5_metres() {
    // The shapes of the invented field, 2.4 times as long: 66 ha.
    let html = text_of(
        &delivered(&Invented::sized(
            2.4,
            5.0,
            lowstave::units::UnitSystem::UnitedStates,
        )),
        "report.html",
    );
    assert!(html.len() < 2_000_000, "{} bytes", html.len());
}

#[test]
fn explain_says_of_a_finished_run_what_the_report_says() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let delivery = delivered(&Invented::small());
    lowstave::deliver::write(&delivery, &out).unwrap();
    let report = text_of(&delivery, "details.txt");
    for zone in 1..=3 {
        let text = lowstave::deliver::explain(&out, zone).unwrap();
        assert!(text.starts_with(&format!("Zone {zone}, ")));
        assert!(report.contains(&text), "the report holds the same chapter");
    }
    let error = lowstave::deliver::explain(&out, 4).unwrap_err();
    assert!(error.to_string().contains("its zones are 1 to 3") && error.is_input_fault());
    assert!(
        lowstave::deliver::explain(folder.path(), 1)
            .unwrap_err()
            .is_input_fault()
    );
}
