// What the workroom would say of a weigh-in, said on the device: it is asked before one is left waiting for the network. Weights
// and lengths are read as src/units/read.rs reads them; tests/browser compares the two.
(() => {
  "use strict";

  const VULGAR = { "¼": "1/4", "½": "1/2", "¾": "3/4", "⅐": "1/7", "⅑": "1/9", "⅒": "1/10", "⅓": "1/3", "⅔": "2/3", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8" };
  // Each unit's names, its size in grams or millimetres, and whether it is metric.
  const MASSES = [
    [["oz", "ounce", "ounces"], 28.349523125, false],
    [["lb", "lbs", "pound", "pounds"], 453.59237, false],
    [["mg", "milligram", "milligrams"], 0.001, true],
    [["g", "gram", "grams"], 1, true],
    [["kg", "kilo", "kilos", "kilogram", "kilograms"], 1000, true],
  ];
  const LENGTHS = [
    [["in", "inch", "inches", '"'], 25.4, false],
    [["ft", "foot", "feet", "'"], 304.8, false],
    [["yd", "yds", "yard", "yards"], 914.4, false],
    [["mm", "millimetre", "millimetres", "millimeter", "millimeters"], 1, true],
    [["cm", "centimetre", "centimetres", "centimeter", "centimeters"], 10, true],
    [["m", "metre", "metres", "meter", "meters"], 1000, true],
  ];

  const SIGNS = { "′": "'", "’": "'", "″": '"', "”": '"', "−": "-", "⁄": "/", "∕": "/" };
  const plain = (typed) =>
    [...typed.trim()]
      .map((c) => SIGNS[c] ?? (VULGAR[c] ? ` ${VULGAR[c]} ` : /\s/u.test(c) ? " " : c.toLowerCase()))
      .join("")
      .trim()
      .replaceAll("''", '"');

  const refuse = () => {
    throw new RangeError("unread");
  };

  function decimal(digits) {
    if (/^\d{0,13}(\.\d{1,13})?$/.test(digits) && digits !== "") return Number(digits);
    // A comma before other than three digits is a decimal comma; before groups of three it only parts them.
    if (/^\d{0,13},(\d{1,2}|\d{4,13})$/.test(digits)) return Number(digits.replace(",", "."));
    const [front] = digits.split(".");
    const grouped = digits.includes(".") ? /^\d{1,3}(,\d{3})+\.\d{1,13}$/ : /^\d{1,3}(,\d{3}){2,}$/;
    return grouped.test(digits) && front.length < 18 ? Number(digits.replaceAll(",", "")) : refuse();
  }

  // The next number, whether it is whole, and what follows it.
  function number(text) {
    let found = /^(\d{1,13}) *\/ *(\d{1,6})(?!\d)/.exec(text);
    if (found) return Number(found[2]) > 0 ? [found[1] / found[2], found[1] % found[2] === 0 && found[2] === "1", text.slice(found[0].length)] : refuse();
    found = /^([\d.,]+)(?:-| ) *(\d{1,13}) *\/ *(\d{1,6})(?!\d)/.exec(text);
    if (found) {
      const whole = decimal(found[1]);
      if (!Number.isInteger(whole) || Number(found[3]) === 0) refuse();
      return [whole + found[2] / found[3], found[3] === "1", text.slice(found[0].length)];
    }
    found = /^[\d.,]+/.exec(text) ?? refuse();
    // A comma that parts this number from the next isn't its own.
    const value = decimal(found[0]);
    return [value, Number.isInteger(value), text.slice(found[0].length)];
  }

  // What was typed, in grams or millimetres; nothing where it can't be read.
  function read(typed, units, bare) {
    try {
      if ([...typed].length > 80) refuse();
      let rest = plain(typed);
      const minus = rest.startsWith("-");
      if (minus) rest = rest.slice(1).trimStart();
      let [total, last, ended] = [0, null, false];
      do {
        const [value, whole, after] = number(rest);
        const text = after.trimStart();
        const name = /^["']|^\p{Alphabetic}*/u.exec(text)[0];
        const unit = name ? units.find(([names]) => names.includes(name)) : last === null && text === "" ? bare : undefined;
        if (!unit || (last && (ended || last[2] !== unit[2] || unit[1] >= last[1]))) refuse();
        total += value * unit[1];
        [last, ended] = [unit, !whole];
        rest = text.slice(name.length).replace(/^\./, "").trimStart().replace(/^, /, "");
      } while (rest !== "");
      return minus ? -total : total;
    } catch {
      return undefined;
    }
  }

  // What the scale's two boxes say together, as in_boxes in src/web/pages/cloth/reading.rs puts it.
  function inBoxes(first, second, metric) {
    const named = (typed, unit) => (typed !== "" && !/\p{Alphabetic}/u.test(typed) ? `${typed} ${unit}` : typed);
    if (metric) return named(first, "kg");
    if (second !== "") return `${named(first, "lb")} ${named(second, "oz")}`.trim();
    const whole = named(first, "lb");
    const found = /(?:^|\P{Alphabetic})(\p{Alphabetic}+)(\P{Alphabetic}*)$/u.exec(whole);
    const pounds = found && ["lb", "lbs", "pound", "pounds"].includes(found[1].toLowerCase());
    return pounds && found[2].replace(/^[\s.,]+|[\s.,]+$/g, "") !== "" ? `${whole} oz` : whole;
  }

  // What is wrong with a form: pairs of a field and what to say there. Empty where the workroom would take it.
  function check(form) {
    const wrong = [];
    const value = (name) => (form.elements[name]?.value ?? "").trim();
    const metric = form.dataset.units === "metric";
    const [least, most, limits] = metric ? [1, 100000, "from 1 g to 100 kg"] : [0.03 * 28.349523125, 200 * 453.59237, "from 0.03 oz to 200 lb"];
    const spell = "Write it as the scale shows it, such as 2 lb 3.5 oz or 1006 g";
    if (!value("kind")) wrong.push(["kind", "Choose the kind of cloth."]);
    if (!value("colour")) wrong.push(["colour", "Choose a colour, or “Another” and give one below."]);
    if (value("second") === "own" && !/^#[0-9a-f]{6}$/i.test(value("second_hex"))) wrong.push(["second_hex", "Give the second colour, or take back the choice."]);
    const weight = inBoxes(value("weight"), value("weight_oz"), metric);
    const gross = read(weight, MASSES);
    const basket = ["", "0"].includes(value("tare")) ? 0 : read(value("tare"), MASSES);
    // Rounded as the workroom rounds, to whole milligrams.
    const within = (mass, from) => Math.round(mass * 1000) >= Math.round(from * 1000) && Math.round(mass * 1000) <= Math.round(most * 1000);
    if (gross === undefined) wrong.push(["weight", weight ? `This weight can’t be read. ${spell}.` : `The weight is missing. ${spell}.`]);
    else if (!within(gross, least)) wrong.push(["weight", `The weight must be ${limits}.`]);
    if (basket === undefined) wrong.push(["tare", `This weight can’t be read. ${spell}.`]);
    else if (!within(basket, 0)) wrong.push(["tare", `The basket must weigh ${limits.replace(/^from .* to/, "at most")}.`]);
    else if (gross !== undefined && within(gross, least) && Math.round(gross * 1000) <= Math.round(basket * 1000)) {
      wrong.push(["weight", "The basket alone weighs that much: the whole must weigh more."]);
    }
    if (!value("washed")) wrong.push(["washed", "Say whether it is washed."]);
    const sizes = ["sheet_length", "sheet_width"];
    const hems = ["sheet_hem", "sheet_top_hem"];
    const sized = [...sizes, ...hems].some((name) => value(name));
    if ((value("sheets") || sized) && !(/^\d{1,3}$/.test(value("sheets")) && value("sheets") >= 1 && value("sheets") <= 500)) {
      wrong.push(["sheets", "The number of sheets is a whole number from 1 to 500."]);
    }
    const [shortest, longest, spans] = metric ? [20, 10000, "from 20 mm to 10 m"] : [25.4, 10160, "from 1 in to 400 in"];
    for (const name of sized ? sizes : []) {
      const length = read(value(name), LENGTHS, metric ? LENGTHS[4] : LENGTHS[0]);
      if (length === undefined || length < shortest - 1e-6 || length > longest + 1e-6) wrong.push([name, `Write a length ${spans}.`]);
    }
    const quarter = (read(value("sheet_length"), LENGTHS, metric ? LENGTHS[4] : LENGTHS[0]) ?? longest) / 4;
    for (const name of hems.some((name) => value(name)) ? hems : []) {
      if (name === "sheet_top_hem" && !value(name)) continue;
      const hem = read(value(name), LENGTHS, metric ? LENGTHS[4] : LENGTHS[0]);
      if (hem === undefined || hem < 0 || hem > quarter + 1e-6) wrong.push([name, "Write a length of at most a quarter of the sheet’s."]);
    }
    for (const [name, longestText] of [["own_name", 120], ["second_name", 120], ["source", 40], ["place", 24], ["note", 2000]]) {
      if ([...value(name)].length > longestText) wrong.push([name, `${longestText} characters are the most.`]);
    }
    return wrong;
  }

  window.weighInCheck = check;
  window.weighInBoxes = inBoxes;
})();
