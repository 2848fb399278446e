// Dates of evenings, year-month-day.

export function isDate(s: string): boolean {
  if (!/^\d{4}-\d\d-\d\d$/.test(s)) return false;
  const t = Date.parse(s + "T00:00:00Z");
  return !Number.isNaN(t) && new Date(t).toISOString().startsWith(s);
}

export function shifted(date: string, days: number): string {
  return new Date(Date.parse(date + "T00:00:00Z") + days * 86400000).toISOString().slice(0, 10);
}
