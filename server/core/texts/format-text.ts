/** “1 part”, “3 parts”. */
export function count(n: number, one: string, many = `${one}s`): string {
  return `${formatNumber(n)} ${n === 1 ? one : many}`;
}

/** A whole number with commas between thousands. */
export function formatNumber(n: number | bigint): string {
  return String(n).replace(/\B(?=(\d{3})+$)/g, ',');
}

/** Bytes in decimal megabytes or kilobytes, as file sizes are quoted. */
export function formatBytes(bytes: number): string {
  return bytes >= 100_000 ? `${(bytes / 1e6).toFixed(1)} MB` : `${(bytes / 1e3).toFixed(1)} kB`;
}

/** Metres as mm: whole millimetres, tenths below ten. */
export function formatMm(metres: number): string {
  const mm = metres * 1000;
  return Math.abs(mm) < 10 ? `${mm.toFixed(1)} mm` : `${formatNumber(Math.round(mm))} mm`;
}

/** Names in quotation marks, the first few, and how many more of all. */
export function listNames(names: readonly string[], atMost = 3, all = names.length): string {
  const shown = names.slice(0, atMost).map((name) => `“${name}”`);
  const rest = all - shown.length;
  if (rest > 0) return `${shown.join(', ')}${shown.length > 0 ? ' and ' : ''}${formatNumber(rest)} more`;
  return shown.length > 1 ? `${shown.slice(0, -1).join(', ')} and ${shown.at(-1)}` : (shown[0] ?? '');
}

/** A share, 0–1, in per cent. */
export function formatPercent(share: number): string {
  return `${Math.round(share * 100)} %`;
}

/** The same with a capital letter at the beginning. */
export function capitalise(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** A size in mm as width × depth × height: whole millimetres, tenths below ten. */
export function formatSize({
  widthMm,
  depthMm,
  heightMm,
}: {
  readonly widthMm: number;
  readonly depthMm: number;
  readonly heightMm: number;
}): string {
  return `${[widthMm, depthMm, heightMm].map(formatWholeMm).join(' × ')} mm`;
}

/** A length in mm without its unit. */
export function formatWholeMm(mm: number): string {
  return mm < 10 ? mm.toFixed(1) : formatNumber(Math.round(mm));
}

/** “has” or “have”, “it” or “them”: the word for one, or the word for several. */
export function pick(n: number, one: string, many: string): string {
  return n === 1 ? one : many;
}
