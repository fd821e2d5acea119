/**
 * A CSV of this many finishes with invented spectra, 380–730 nm every 10 nm, named C-0, C-1 …; its last line ends with
 * a line break.
 */
export function makeSpectraCsv(rows: number): string {
  const nm = Array.from({ length: 36 }, (_, i) => 380 + 10 * i);
  const lines = Array.from({ length: rows }, (_, i) =>
    [`C-${i}`, `Name ${i}`, ...nm.map((_, k) => (0.05 + 0.9 * Math.sin(i * 0.01 + k * 0.05) ** 2).toFixed(4))].join(
      ',',
    ),
  );
  return `${[`code,name,${nm.map((each) => `nm${each}`).join(',')}`, ...lines].join('\n')}\n`;
}
