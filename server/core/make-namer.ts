/** Room for a number behind a name that had to be cut. */
const NUMBER_ROOM = 10;

/**
 * Hands out names that are not taken, ignoring case, with a number behind where they are. It remembers where each name's
 * numbers got to: twenty thousand rows of one name would otherwise be counted through from the start each time.
 * @param limit characters a name may have; one that is numbered is cut to leave room
 */
export function makeNamer(taken: Iterable<string>, between: string, limit: number): (wanted: string) => string {
  const used = new Set([...taken].map((name) => name.toLowerCase()));
  const next = new Map<string, number>();
  return (wanted) => {
    const stem = wanted.toLowerCase();
    let candidate = wanted;
    let n = next.get(stem) ?? 2;
    for (; used.has(candidate.toLowerCase()); n++) {
      // cut between characters, never inside one
      candidate = `${[...wanted]
        .slice(0, limit - NUMBER_ROOM)
        .join('')
        .trim()}${between}${n}`;
    }
    next.set(stem, n);
    used.add(candidate.toLowerCase());
    return candidate;
  };
}
