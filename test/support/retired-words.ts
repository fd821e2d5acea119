/**
 * Words and phrases that no text for users may contain, each with its replacement. They are old-fashioned, inverted, or
 * have another meaning in the trade.
 */
const RETIRED_WORDS: readonly (readonly [pattern: RegExp, instead: string])[] = [
  [/\b(?:is|are|was|were) (?:not )?taken(?: (?:at|here|in|up)\b|[.;,]|$)/i, 'is (not) supported, is allowed, is used'],
  [/\btaken down\b/i, 'recorded'],
  [/\btakes? (?:it|them|that) back\b/i, 'undo, discard'],
  [/\bin (?:its|the|their) place(?: of)?\b/i, 'instead of, replaces'],
  [/\btells? of\b|\btold\b/i, 'says, reports'],
  [/\bspeaks? (?:of|no)\b/i, 'suggests, says'],
  [/\b(?:lay|lays|laid)\b/i, 'apply, place, map'],
  [/\b(?:worn|wears)\b/i, 'has, uses'],
  [/\bcomes? (?:about|of it)\b|\bcame about\b|\bcome to be\b/i, 'happens, results'],
  [/\bheld against\b/i, 'compared with'],
  [/\bhad (?:by|under)\b/i, 'available at'],
  [/\bbears?\b/i, 'has, supports'],
  [/\bthereof\b|\bwhereof\b|\bthereby\b|\bhence\b|\bwhence\b/i, 'of it, so'],
  [/\bnothing (?:is|was|of)\b/i, 'say who does what: “Dyeworks changed nothing”'],
  [/\bnobody\b|\bno one\b/i, 'name the actor'],
  [/\bsigned off\b/i, 'approved'],
  [/\bstands? (?:against|twice|behind|in the way)\b/i, 'blocks, occurs twice'],
  [/\bso that there\b/i, 'so there'],
  [/(?<!\bthere )\bis no (?:such|slot|sRGB|number|code|character)\b/i, 'is not a …'],
  [/\b(?:is|are) none\b/i, 'is not a …'],
  [/\bas a rule\b/i, 'usually'],
  [/\bmeanwhile\b/i, 'in the meantime: say what changed'],
  [/\bafresh\b|\banew\b/i, 'again'],
  [/\bwhatsoever\b|\bwhatever (?:its|the)\b/i, 'any'],
  [/\bfigures?\b/i, 'digits, values, numbers'],
  [/\bplenty\b/i, 'enough'],
  [/\b(?:GET|PUT|POST|PATCH|DELETE) \/?(?:api|\w+)?/, 'say what to do, not which call to make'],
  [/\bground\b/i, 'background; floor'],
  [/^what\b/i, 'name the thing'],
  [/\btakes? the edits back\b/i, 'discard changes'],
  [/\btake it\b/i, 'use it'],
  [/\btaken (?:off|out|back|down|up|in)\b/i, 'removed, recorded, imported'],
  [/\bcomes? to one\b/i, 'results in one'],
  [/\bwear it\b/i, 'have it, use it'],
  [/\bsomebody\b/i, 'name the actor'],
  [/\bsee-through\b/i, 'transparent'],
  [/\bsample card\b/i, 'colour card'],
  [/\bseldom\b/i, 'rarely'],
  [/\bnamely\b/i, 'leave it out'],
  [/\bbefell\b/i, 'happened to'],
  [/\bgiven up\b/i, 'removed, stopped'],
  [/\btakes? its place\b/i, 'replaces'],
  [/\bby its word\b/i, 'by name'],
  [/\bputs? (?:down|away)\b/i, 'saves, removes'],
  [/\bmay not meet\b/i, 'cannot be combined'],
  [/\bnothing (?:here|there)\b/i, 'say who does what'],
  [/\bready (?:set|one)\b/i, 'template'],
  [/\balways there\b/i, 'built-in'],
];

/** The retired words of a text, each with its replacement. */
export function listRetiredWords(text: string): string[] {
  return RETIRED_WORDS.flatMap(([pattern, instead]) => {
    const found = pattern.exec(text);
    return found ? [`“${found[0]}” (write: ${instead})`] : [];
  });
}
