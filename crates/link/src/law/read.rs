//! Reads the rows from their CSV text.

use std::sync::Arc;

use csv::StringRecord;
use units::{Dbm, Khz, Mhz, Milliwatts, Seconds};

use super::row::{
    AccessRule, Basis, CeilingKnown, Density, DwellWindow, GainRule, GapRule, HopRule, Narrower, Obtained,
    Row, SpacingRule, Technique, Use,
};
use super::{BadLimits, What};

/// The rows of the text.
pub(super) fn read(text: &str) -> Result<Vec<Arc<Row>>, BadLimits> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let heading = reader.headers().map_err(|error| bad(1, &error.to_string()))?.clone();
    let mut rows: Vec<Arc<Row>> = Vec::new();
    for (at, record) in reader.records().enumerate() {
        let line = at as u64 + 2;
        let record = record.map_err(|error| bad(line, &error.to_string()))?;
        let fields = Fields { heading: &heading, record: &record };
        let row = row(&fields).map_err(|why| bad(line, &why))?;
        if rows.iter().any(|have| have.id == row.id) {
            return Err(bad(line, &format!("the id `{}` stands twice", row.id)));
        }
        rows.push(Arc::new(row));
    }
    if rows.is_empty() {
        return Err(bad(1, "there is no row"));
    }
    for row in &rows {
        if let Some(missing) = row.as_rows.iter().find(|id| !rows.iter().any(|have| have.id == **id)) {
            return Err(bad(0, &format!("`{}` takes over `{missing}`, which there is not", row.id)));
        }
    }
    Ok(rows)
}

fn bad(line: u64, why: &str) -> BadLimits {
    BadLimits { line, why: why.to_owned() }
}

struct Fields<'a> {
    heading: &'a StringRecord,
    record: &'a StringRecord,
}

impl Fields<'_> {
    fn text(&self, column: &str) -> Result<&str, String> {
        let at = self.heading.iter().position(|have| have == column);
        at.and_then(|at| self.record.get(at))
            .map(str::trim)
            .ok_or_else(|| format!("there is no column `{column}`"))
    }

    fn owned(&self, column: &str) -> Result<String, String> {
        self.text(column).map(str::to_owned)
    }

    fn number(&self, column: &str) -> Result<Option<f64>, String> {
        match self.text(column)? {
            "" => Ok(None),
            text => number(text).map(Some).map_err(|why| format!("`{column}`: {why}")),
        }
    }

    fn needed(&self, column: &str) -> Result<f64, String> {
        self.number(column)?.ok_or_else(|| format!("`{column}` is empty"))
    }

    fn list(&self, column: &str) -> Result<Vec<&str>, String> {
        Ok(self.text(column)?.split(';').map(str::trim).filter(|part| !part.is_empty()).collect())
    }

    fn whats(&self, column: &str) -> Result<Vec<What>, String> {
        self.list(column)?.into_iter().filter(|word| *word != "ceiling").map(what).collect()
    }
}

fn number(text: &str) -> Result<f64, String> {
    let number = text.parse::<f64>().ok().filter(|number| number.is_finite());
    number.ok_or_else(|| format!("`{text}` is no number"))
}

fn what(word: &str) -> Result<What, String> {
    Ok(match word {
        "use" => What::Use,
        "edges" => What::Edges,
        "bandwidth" => What::Bandwidth,
        "power" => What::Power,
        "density" => What::PowerDensity,
        "hops" => What::HopChannels,
        "dwell" => What::Dwell,
        "duty" => What::Duty,
        "sequence" => What::Sequence,
        _ => return Err(format!("`{word}` is no demand")),
    })
}

fn row(fields: &Fields<'_>) -> Result<Row, String> {
    let id = fields.owned("id")?;
    if id.is_empty() {
        return Err("`id` is empty".to_owned());
    }
    let edges = match (fields.number("lower_mhz")?, fields.number("upper_mhz")?) {
        (Some(low), Some(high)) if low < high => Some((Mhz(low), Mhz(high))),
        (None, None) => None,
        _ => return Err("`lower_mhz` must lie below `upper_mhz`".to_owned()),
    };
    let centres =
        fields.list("channel_centres_mhz")?.into_iter().map(number).collect::<Result<Vec<_>, _>>()?;
    let remembered_ceiling = fields.list("remembered")?.contains(&"ceiling");
    Ok(Row {
        region: fields.owned("region")?,
        administration: fields.owned("administration")?,
        band: fields.owned("band")?,
        edges,
        centres: centres.into_iter().map(Mhz).collect(),
        use_class: fields.owned("use_class")?,
        aircraft: aircraft(fields.text("aircraft")?)?,
        not_in: fields.list("not_in")?.into_iter().map(str::to_owned).collect(),
        as_rows: fields.list("as_rows")?.into_iter().map(str::to_owned).collect(),
        modulation_class: fields.owned("modulation_class")?,
        technique: technique(fields.text("technique")?)?,
        power: power(fields)?,
        basis: basis(fields.text("power_basis")?)?,
        gain_rule: gain_rule(fields)?,
        gain_words: fields.owned("antenna_gain_rule")?,
        max_eirp: fields.number("max_eirp_dbm")?.map(Dbm),
        from_eirp: fields.number("from_eirp_dbm")?.map(Dbm),
        density: density(fields)?,
        density_words: fields.owned("psd_limit")?,
        hops: hops(fields)?,
        channel_spacing: fields.number("min_channel_spacing_khz")?.map(Khz),
        dwell: dwell(fields)?,
        window_words: fields.owned("dwell_window")?,
        spacing: spacing(fields)?,
        spacing_words: fields.owned("channel_spacing_rule")?,
        min_bandwidth: fields.number("min_bandwidth_khz")?.map(Khz),
        max_bandwidth: fields.number("max_bandwidth_khz")?.map(Khz),
        strictly: fields.whats("strictly")?,
        duty: fields.number("max_duty_cycle_percent")?.map(|percent| percent / 100.0),
        duty_window: fields.number("duty_window_s")?.map(Seconds),
        access: access(fields)?,
        access_words: fields.owned("access_requirement")?,
        notes: fields.owned("notes")?,
        source: fields.owned("source")?,
        obtained: obtained(fields.text("obtained")?)?,
        obtained_detail: fields.owned("obtained_detail")?,
        remembered: fields.whats("remembered")?,
        ceiling: if remembered_ceiling { CeilingKnown::FromMemory } else { CeilingKnown::AsTheRow },
        id,
    })
}

/// The limit in milliwatts, which the level beside it must match to its last digit.
fn power(fields: &Fields<'_>) -> Result<Option<Dbm>, String> {
    match (fields.number("max_power_mw")?, fields.number("max_power_dbm")?) {
        (None, None) => Ok(None),
        (Some(mw), Some(dbm)) if (Milliwatts(mw).level().0 - dbm).abs() <= 0.000_06 => {
            Ok(Some(Milliwatts(mw).level()))
        }
        (mw, dbm) => Err(format!("{mw:?} mW and {dbm:?} dBm are not the same power")),
    }
}

fn aircraft(word: &str) -> Result<Use, String> {
    Ok(match word {
        "yes" => Use::Aircraft,
        "no" => Use::NotAircraft,
        "licensed" => Use::Licensed,
        "not-known" => Use::NotKnown,
        _ => return Err(format!("`aircraft` is `{word}`")),
    })
}

fn technique(word: &str) -> Result<Technique, String> {
    Ok(match word {
        "any" => Technique::Any,
        "hopping" => Technique::Hopping,
        "digital" => Technique::Digital,
        "hybrid" => Technique::Hybrid,
        "not-hopping" => Technique::NotHopping,
        "narrow" => Technique::Narrow,
        _ => return Err(format!("`technique` is `{word}`")),
    })
}

fn basis(word: &str) -> Result<Basis, String> {
    Ok(match word {
        "conducted" => Basis::Conducted,
        "ERP" => Basis::Erp,
        "EIRP" => Basis::Eirp,
        "see rule" => Basis::SeeRule,
        _ => return Err(format!("the basis of power is `{word}`")),
    })
}

fn obtained(word: &str) -> Result<Obtained, String> {
    Ok(match word {
        "text" => Obtained::Text,
        "text-secondhand" => Obtained::SecondHand,
        "mixed" => Obtained::Mixed,
        "memory" => Obtained::Memory,
        _ => return Err(format!("`obtained` is `{word}`")),
    })
}

fn gain_rule(fields: &Fields<'_>) -> Result<GainRule, String> {
    let words = fields.text("antenna_gain_rule")?;
    let ceiling = || Ok(GainRule::Ceiling { eirp: Dbm(fields.needed("max_eirp_dbm")?) });
    if words.starts_with("limit holds up to 6 dBi; above that reduce conducted power 1 dB for each dB") {
        Ok(GainRule::OverSix)
    } else if words
        .starts_with("fixed point-to-point only: above 6 dBi reduce conducted power 1 dB for each 3")
    {
        Ok(GainRule::OverSixByThirds)
    } else if words.starts_with("limit is EIRP") || words.starts_with("limit is ERP") {
        Ok(GainRule::Radiated)
    } else if words.contains("ceiling") {
        ceiling()
    } else if words == "see rule" || words == "none stated" || fields.number("max_power_dbm")?.is_none() {
        Ok(GainRule::AsItStands)
    } else {
        Err(format!("the gain rule is `{words}`"))
    }
}

fn density(fields: &Fields<'_>) -> Result<Option<Density>, String> {
    let Some(level) = fields.number("density_dbm")? else {
        return match fields.text("psd_limit")? {
            "" => Ok(None),
            words => Err(format!("`psd_limit` is `{words}` without figures")),
        };
    };
    Ok(Some(Density {
        level: Dbm(level),
        slice: Khz(fields.needed("density_slice_khz")?),
        basis: basis(fields.text("density_basis")?)?,
        if_wider: fields.number("density_if_wider_khz")?.map(Khz),
        narrower: if fields.text("psd_limit")?.contains("/MHz") {
            Narrower::InProportion
        } else {
            Narrower::WholeSlice
        },
    }))
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "checked to be a small whole number"
)]
fn hops(fields: &Fields<'_>) -> Result<Option<HopRule>, String> {
    let Some(least) = fields.number("min_hop_channels")? else { return Ok(None) };
    if least.fract() != 0.0 || !(1.0..=10_000.0).contains(&least) {
        return Err(format!("`min_hop_channels` is {least}"));
    }
    let least = least as u32;
    let words = fields.text("hop_channel_rule")?;
    if words.starts_with("at least") {
        Ok(Some(HopRule::AtLeast(least)))
    } else if words.contains("15 / minimum hop separation in MHz") {
        Ok(Some(HopRule::FifteenMhzOverSeparation(least)))
    } else {
        Err(format!("`hop_channel_rule` is `{words}`"))
    }
}

fn dwell(fields: &Fields<'_>) -> Result<Option<(Seconds, DwellWindow)>, String> {
    let Some(most) = fields.number("max_dwell_ms")? else { return Ok(None) };
    let words = fields.text("dwell_window")?;
    let window = if let Some(window) = fields.number("dwell_window_s")? {
        DwellWindow::Fixed(Seconds(window))
    } else if words.starts_with("0.4 s x ") {
        DwellWindow::PerChannel(Seconds(0.4))
    } else if words.starts_with("15 ms x N") {
        DwellWindow::PerLeastChannel(Seconds(0.015))
    } else if words.starts_with("400 ms x N") {
        DwellWindow::PerLeastChannel(Seconds(0.4))
    } else {
        return Err(format!("`dwell_window` is `{words}`"));
    };
    Ok(Some((Seconds(most / 1e3), window)))
}

fn spacing(fields: &Fields<'_>) -> Result<Option<SpacingRule>, String> {
    let least = Khz(fields.number("min_channel_spacing_khz")?.unwrap_or(0.0));
    let of_bandwidth = fields.number("spacing_of_bandwidth")?;
    Ok(of_bandwidth.map(|of_bandwidth| SpacingRule { least, of_bandwidth }))
}

fn access(fields: &Fields<'_>) -> Result<AccessRule, String> {
    Ok(match fields.text("access_rule")? {
        "free" => AccessRule::Free,
        "listen" => AccessRule::Listen,
        "listen-or-avoid" => AccessRule::ListenOrAvoid,
        "listen-instead-of-duty" => AccessRule::ListenInsteadOfDuty,
        "utilisation" => AccessRule::Utilisation {
            most: fields.needed("max_utilisation")?,
            sequence: Seconds(fields.needed("max_sequence_ms")? / 1e3),
            gap: Seconds(fields.needed("min_gap_ms")? / 1e3),
            gap_rule: match fields.text("gap_rule")? {
                "fixed" => GapRule::Fixed,
                "at-least-the-sequence" => GapRule::AtLeastTheSequence,
                word => return Err(format!("`gap_rule` is `{word}`")),
            },
        },
        word => return Err(format!("`access_rule` is `{word}`")),
    })
}
