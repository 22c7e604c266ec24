//! The loan slip in two halves: one goes home with the frame, the other stays: what went, due when, in which condition.
use crate::pdf::PaperError;
use crate::pdf::layout::flow::{Foot, Paper};
use crate::pdf::layout::sheet::{Part, Size};
use crate::pdf::layout::table::Column;
use crate::pdf::layout::text::Weight;
use crate::store::loans::Loan;
use crate::store::rods::rod_size;
use crate::units::{Units, isolated};

/// What the slip is made of. Dates come written out.
pub struct LoanSlip<'a> {
    /// The workroom's name.
    pub workroom: &'a str,
    /// The loan.
    pub loan: &'a Loan,
    /// When it is due.
    pub due: &'a str,
    /// When it went.
    pub went: &'a str,
    /// When it came back, if it did.
    pub came: Option<&'a str>,
    /// Where the live page is.
    pub link: &'a str,
    /// The day it is printed.
    pub printed: &'a str,
    /// How lengths are written.
    pub units: Units,
}

/// The usual caution with a frame that goes home: on every slip, of paper and on the page.
pub const CARRYING: &str = "Rod ends stand at eye height: keep a cork or a bead on each, carry them low, and stand the frame where \
                     nobody bends over it. Nails scratch and catch fingers and sleeves. Lean the frame so that it can’t fall, \
                     away from children, pets, heaters and flames. Take a break from sitting and gripping every half hour. \
                     Local rules, and those who are licensed for safety, go before this slip.";

impl LoanSlip<'_> {
    /// The slip as PDF.
    ///
    /// # Errors
    /// [`PaperError`] when it can't be written.
    pub fn pdf(&self, size: Size) -> Result<Vec<u8>, PaperError> {
        self.paper(size)?.finish()
    }

    /// The slip before it is written.
    ///
    /// # Errors
    /// [`PaperError::Qr`] when the link is too long.
    pub fn paper(&self, size: Size) -> Result<Paper, PaperError> {
        let (loan, units) = (self.loan, self.units);
        let text = format!("{}, printed {}.", isolated(self.workroom), self.printed);
        let title = format!("Loan slip, frame {}", loan.frame_tag);
        let mut paper = Paper::new(&title, size, false, 10.0, Foot { text, bars: false });
        paper.head(
            &isolated(self.workroom),
            "Loan slip",
            &format!("{}, for the rug {}", isolated(&loan.weaver), isolated(&loan.rug)),
            Some((self.link, "this loan’s page")),
        )?;
        let size = loan.rod_length_nm.zip(loan.rod_diameter_nm);
        let rods = size.map_or_else(String::new, |(length, diameter)| rod_size(length, diameter, units));
        paper.boxes(&[
            [
                "Frame".into(),
                isolated(&loan.frame_tag),
                format!(
                    "{} × {}, {} nails per end",
                    loan.width_nm.show(units),
                    loan.span_nm.show(units),
                    loan.nails
                ),
            ],
            ["Edge rods".into(), if loan.rods == 0 { "none".into() } else { loan.rods.to_string() }, rods],
        ]);
        paper.gap(0.8);
        paper.boxes(&[["Due back on".into(), self.due.to_owned(), String::new()]]);
        paper.gap(1.0);
        let note = if loan.frame_note.is_empty() {
            String::new()
        } else {
            format!(". {}", isolated(loan.frame_note.trim_end_matches('.')))
        };
        for line in [
            Some(format!("Handed out {}, by {}.", self.went, isolated(&loan.handed_out_by))),
            Some(format!("Condition: {}{note}.", loan.condition_out)),
            self.came.map(|came| {
                let condition = loan.condition_back.map_or("", |condition| condition.word());
                format!(
                    "Taken back {came}: {condition}, {} rods bent, {} missing.",
                    loan.rods_bent, loan.rods_missing
                )
            }),
        ]
        .into_iter()
        .flatten()
        {
            paper.paragraph(&line, 1.0, Weight::Regular);
            paper.gap(0.3);
        }
        paper.gap(0.7);
        paper.beside(
            0.4,
            |paper| {
                paper.heading(2, "Bring back");
                let mut items = vec![(String::new(), "the frame, with every nail".to_owned())];
                if loan.rods > 0 {
                    let all = if loan.rods == 2 { "both rods" } else { "all rods" };
                    items.push((String::new(), format!("{all}, their ends covered")));
                }
                items.push((String::new(), "this slip".to_owned()));
                paper.ticks(&items, false);
                Ok(())
            },
            |paper| {
                paper.heading(2, "Take care");
                paper.paragraph(CARRYING, 0.85, Weight::Regular);
                Ok(())
            },
        )?;
        self.stays(&mut paper);
        Ok(paper)
    }

    /// The half that stays: below a line to cut along, who has what until when, and room for its coming back.
    fn stays(&self, paper: &mut Paper) {
        let (loan, units) = (self.loan, self.units);
        let middle = (paper.sheet.high / 2.0).max(paper.y + 5.0);
        let edge = paper.sheet.wide;
        paper.sheet.lines(vec![[0.0, middle, edge, middle]], 0.2, Some([2.0, 1.5]));
        paper.y = middle + 6.0;
        paper.paragraph("The half below stays in the workroom.", 0.85, Weight::Regular);
        paper.gap(0.4);
        paper.heading(2, &format!("{} is out until {}", isolated(&loan.frame_tag), self.due));
        let size = loan.rod_length_nm.zip(loan.rod_diameter_nm);
        let rods = match size.filter(|_| loan.rods > 0) {
            Some((length, diameter)) => format!("{} rods, {}", loan.rods, rod_size(length, diameter, units)),
            None => "no rods".to_owned(),
        };
        let row = |what: &str, says: String| vec![what.to_owned(), says];
        let loaned = [
            row("With", format!("{}, for {}", isolated(&loan.weaver), isolated(&loan.rug))),
            row("Went with it", rods),
            row("Went", format!("{}, {}", self.went, loan.condition_out)),
        ];
        paper.table(&[Column::words("What"), Column::words("This loan")], &loaned);
        paper.gap(1.0);
        paper.heading(2, "When it comes back");
        let back = [
            "nails, rails and corners are sound",
            "all its rods are here, none bent",
            "their ends are covered",
        ];
        paper.ticks(&back.map(|what| (String::new(), what.to_owned())), false);
        paper.gap(2.5);
        let third = paper.wide() / 3.0;
        for (n, words) in ["Handed out", "Received", "Taken back, on"].into_iter().enumerate() {
            let (x, y) = (paper.left + third * n as f64, paper.y + 8.0);
            paper.sheet.rule([x, y, x + third - 6.0, y], 0.3);
            let id = paper.sheet.begin(Part::Paragraph);
            paper.sheet.text(x, y + 4.0, words, 9.0, Weight::Regular);
            paper.sheet.end(id);
        }
        paper.y += 14.0;
    }
}
