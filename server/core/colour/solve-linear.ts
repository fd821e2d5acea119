/**
 * Solves a system of linear equations by elimination with pivots.
 * @param rows one per unknown, each ending with its right-hand side; worked on in place
 * @returns null if there is no one answer
 */
export function solveLinear(rows: number[][]): number[] | null {
  const size = rows.length;
  for (let column = 0; column < size; column++) {
    let best = column;
    for (let r = column + 1; r < size; r++) {
      if (Math.abs(rows[r]![column]!) > Math.abs(rows[best]![column]!)) best = r;
    }
    const top = rows[best]!;
    rows[best] = rows[column]!;
    rows[column] = top;
    if (!(Math.abs(top[column]!) > 1e-14)) return null;
    for (let r = column + 1; r < size; r++) {
      const row = rows[r]!;
      const factor = row[column]! / top[column]!;
      if (factor === 0) continue;
      for (let c = column; c <= size; c++) row[c]! -= factor * top[c]!;
    }
  }
  const answer = new Array<number>(size).fill(0);
  for (let r = size - 1; r >= 0; r--) {
    const row = rows[r]!;
    let rest = row[size]!;
    for (let c = r + 1; c < size; c++) rest -= row[c]! * answer[c]!;
    answer[r] = rest / row[r]!;
  }
  return answer;
}
