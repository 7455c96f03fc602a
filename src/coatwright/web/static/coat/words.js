// Days and lengths in words, as web/words.py writes them.

/** The day number of 1 January 1970, as Python counts days. */
const EPOCH = 719163;
const DAY_MS = 864e5;
const WEEKDAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];
const MONTHS = [
  ...["January", "February", "March", "April", "May", "June", "July"],
  ...["August", "September", "October", "November", "December"],
];

/** 2026-12-03 for a day number. */
export const isoOf = (day) => new Date((day - EPOCH) * DAY_MS).toISOString().slice(0, 10);

/** The day number of 2026-12-03; numbers stay. */
export const dayOf = (value) => (/-\d\d-/.test(value) ? Date.parse(value) / DAY_MS + EPOCH : Number(value));

/** `order` of a date is dmy, mdy or ymd; `unit` is mm or in. */
export function wordsFor(order, unit) {
  const bare = (mm) => (unit === "in" ? eighths(Math.round((mm / 25.4) * 8)) : String(Math.round(mm)));
  return {
    unit,
    /** A length without its unit. */
    bare,
    length: (mm) => `${bare(mm)}\u202f${unit}`,
    share: (share) => `${Math.round(100 * share)}\u202f%`,
    /** Thu 3 December 2026, or in another order. */
    date(day) {
      const when = new Date((day - EPOCH) * DAY_MS);
      const weekday = WEEKDAYS[when.getUTCDay()];
      const month = MONTHS[when.getUTCMonth()];
      const date = when.getUTCDate();
      const year = when.getUTCFullYear();
      if (order === "mdy") return `${weekday}, ${month} ${date}, ${year}`;
      if (order === "ymd") return `${year} ${month} ${date}, ${weekday}`;
      return `${weekday} ${date} ${month} ${year}`;
    },
    /** today, in 12 days, 3 weeks ago. */
    away(day, today) {
      const days = day - today;
      const size = Math.abs(days);
      if (size < 2) return ["yesterday", "today", "tomorrow"][days + 1];
      const span = size < 21 ? `${size} days` : `${Math.round(size / 7)} weeks`;
      return days > 0 ? `in ${span}` : `${span} ago`;
    },
  };
}

/** Eighths of an inch as a whole number and a fraction in its lowest terms. */
function eighths(count) {
  const whole = Math.floor(count / 8);
  const part = count % 8;
  if (!part) return String(whole);
  const of = part % 2 ? 8 : part % 4 ? 4 : 2;
  return `${whole || ""} ${(part * of) / 8}/${of}`.trim();
}
