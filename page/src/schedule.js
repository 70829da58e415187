// A schedule: the day's curves and where the moving mirror stands, sun by sun.
import { curveChart } from "./curves.js";
import { h } from "./dom.js";
import { plain, words } from "./numbers.js";
import { number } from "./stored.js";

/// The suns of a schedule: [{ x, label }]: x is a Date whose UTC parts read as the site's clock, or the row's number.
export function sunsOf(file) {
  const time = file.values("/time"),
    local = file.values("/local_time");
  return Array.from(time, (t, i) => {
    const clock = /^(\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d)?)/.exec(local[i] ?? "");
    if (!Number.isFinite(t) || !clock) return { x: i, label: "the scene's own sun", time: NaN };
    return {
      x: new Date(`${clock[1].length === 16 ? `${clock[1]}:00` : clock[1]}Z`),
      label: local[i].replace("T", " "),
      time: t,
    };
  });
}

/// The time of day alone, so that days lie over each other.
export function onClock(sun) {
  return sun.x instanceof Date ? new Date(Date.UTC(2000, 0, 1) + (sun.x.getTime() % 86400000)) : sun.x;
}

/// The x axis of a day's charts.
export function clockAxis(suns) {
  if (!(suns[0].x instanceof Date)) return { label: "row", ticks: [0] };
  return { type: "utc", label: "time on the site's clock", tickFormat: (t) => t.toISOString().slice(11, 16) };
}

/// Rows that follow each other on one day; a year's schedule has many.
export function daysOf(suns) {
  const days = new Map();
  suns.forEach((sun, i) => {
    const day = sun.label.slice(0, 10);
    if (!days.has(day)) days.set(day, []);
    days.get(day).push(i);
  });
  return [...days];
}

/// Over a year each day is a curve of its own, over the clock; over a day the curves are the numbers.
export function dayCurves(file, moment) {
  const suns = sunsOf(file),
    days = daysOf(suns),
    many = days.length > 1;
  const x = clockAxis(suns);
  const points = (values, errors, rows, factor = 1) =>
    rows.map((i) => ({
      x: onClock(suns[i]),
      y: factor * number(values[i]),
      e: errors ? factor * number(errors[i]) : 0,
      label: suns[i].label,
    }));
  const lines = (path, factor, name) => {
    const values = file.values(path),
      errors = file.errors(path);
    return many
      ? days.map(([day, rows]) => ({ name: day, points: points(values, errors, rows, factor) }))
      : [{ name, points: points(values, errors, days[0][1], factor) }];
  };
  const mark = () => onClock(suns[moment()]);
  const chart = (name, sets, label, more) =>
    curveChart({
      name,
      lines: sets.filter(([path]) => file.has(path)).flatMap(([path, factor, line]) => lines(path, factor, line)),
      x,
      y: { label, zero: true },
      mark,
      dots: suns.length < 40,
      ...more,
    });

  const power = file.receivers.map((r) => [
    `/receivers/${r}/absorbed_power_W`,
    1e-3,
    file.receivers.length > 1 ? `absorbed by ${r}` : "absorbed",
  ]);
  const charts = many
    ? [
        chart("Optical efficiency", [["/optical_efficiency", 100]], "%"),
        chart("Intercept factor", [["/intercept_factor", 100]], "%"),
      ]
    : [
        chart("Power through the day", [["/incident_power_W", 1e-3, "incident on the primaries"], ...power], "kW"),
        chart(
          "Efficiency through the day",
          [
            ["/optical_efficiency", 100, "optical efficiency"],
            ["/intercept_factor", 100, "intercept factor"],
          ],
          "%",
        ),
      ];
  for (const r of file.receivers)
    charts.push(
      chart(
        `Concentration on ${r}`,
        many
          ? [[`/receivers/${r}/peak_concentration`, 1]]
          : [
              [`/receivers/${r}/peak_concentration`, 1, "peak bin"],
              [`/receivers/${r}/mean_concentration`, 1, "mean"],
            ],
        "\u00d7 DNI",
      ),
    );
  for (const r of file.receivers) {
    const heat = `/receivers/${r}/heat/`;
    if (!file.has(`${heat}useful_heat_W`)) continue;
    const at = `${plain(file.estimate(`${heat}temperature_K`).value)} K`;
    charts.push(
      chart(
        `Heat of ${r} at ${at}`,
        many
          ? [[`${heat}useful_heat_W`, 1e-3]]
          : [
              [`${heat}heat_in_W`, 1e-3, "heat taken in"],
              [`${heat}useful_heat_W`, 1e-3, "useful heat"],
              [`${heat}work_W`, 1e-3, "maximum work"],
            ],
        many ? "kW, useful heat" : "kW",
      ),
    );
  }
  return charts;
}

/// Pose curves of each steered component.
export function poseCurves(file, moment) {
  const suns = sunsOf(file),
    days = daysOf(suns);
  const x = clockAxis(suns);
  const rowsOf = (place) => days[place][1];
  return file.below("/poses").map((component) => {
    const group = `/poses/${component}/`,
      axis = file.values(`${group}axis`),
      steered = file.has(`${group}offset_m`), // what follows a law has no home
      place = file.values(`${group}${steered ? "offset_m" : "position_m"}`),
      roll = file.values(`${group}roll_deg`);
    const box = h("div", {});
    const draw = (day) => {
      const rows = rowsOf(day);
      const line = (name, value) => ({
        name,
        points: rows.map((i) => ({ x: suns[i].x, y: value(i), e: 0, label: suns[i].label })),
      });
      const mark = () => (rows.includes(moment()) ? suns[moment()].x : undefined);
      const degrees = 180 / Math.PI;
      box.charts = [
        curveChart({
          name: steered ? `${component}: offset from home` : `${component}: where its law has it`,
          x,
          y: { label: "m" },
          mark,
          dots: rows.length < 40,
          lines: ["east", "north", "up"].map((name, k) => line(name, (i) => number(place[3 * i + k]))),
        }),
        curveChart({
          name: `${component}: where it faces`,
          x,
          y: { label: "°" },
          mark,
          dots: rows.length < 40,
          lines: [
            line("lean east of the vertical", (i) => Math.atan2(axis[3 * i], Math.abs(axis[3 * i + 2])) * degrees),
            line("lean north of the vertical", (i) => Math.atan2(axis[3 * i + 1], Math.abs(axis[3 * i + 2])) * degrees),
            line("roll about its axis", (i) => number(roll[i])),
          ],
        }),
      ];
      box.replaceChildren(...box.charts);
    };
    draw(0);
    box.again = () => box.charts.forEach((chart) => chart.again());
    const pick =
      days.length > 1 &&
      h(
        "label",
        { class: "slider" },
        "day ",
        h(
          "select",
          { onchange: (event) => draw(Number(event.target.value)) },
          days.map(([day], i) => h("option", { value: i }, day)),
        ),
      );
    const whole = h("div", { "data-component": component }, pick, box);
    whole.again = () => box.again();
    return whole;
  });
}

/// "21 suns from 05:30 to 18:30, best in absorbed power, …"
export function scheduleWords(file) {
  const suns = sunsOf(file),
    days = daysOf(suns);
  const count = `${suns.length} sun${suns.length === 1 ? "" : "s"}`;
  const when = suns[0].x instanceof Date ? ` from ${suns[0].label} to ${suns.at(-1).label}` : "";
  const span = days.length > 1 ? `${count} on ${days.length} days${when}` : `${count}${when}`;
  const { objective, search_samples } = file.attributes;
  if (!objective || !search_samples) return span; // nothing was searched for
  return `${span}; poses best in ${words(objective)}, found with ${plain(search_samples)} samples each`;
}
