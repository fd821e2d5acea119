import type { Article, Finish, StoredFinish } from '../../core/finish/finish.ts';
import type { CodeCounts } from '../../core/finish/level-map.ts';
import type { ImportReading } from '../../core/import/measured-row.ts';
import { type ImportDefaults, type ImportPlan, planImport } from '../../core/import/plan-import.ts';
import { IMPORT_PART, type ImportFile } from '../../core/ports/imports.ts';
import { serveTasks } from '../../threads/serve-tasks.ts';
import { readImport } from '../read-import.ts';

/** Lists that the thread returns in parts. */
export interface Lists extends ImportPlan {
  /** Codes of the file, as written there. */
  readonly codes: readonly string[];
}
type ListName = keyof Lists;

/**
 * The tasks of the thread, in this order: read a file; know the stored finishes, in parts, and the articles; plan; return
 * a part of a list; forget everything.
 */
export type Ask =
  | { readonly kind: 'read'; readonly file: ImportFile }
  | {
      readonly kind: 'know';
      readonly finishes: readonly StoredFinish[];
      readonly articles: readonly Article[];
      readonly codes: ReadonlyMap<string, CodeCounts>;
    }
  | { readonly kind: 'plan'; readonly defaults: ImportDefaults }
  | { readonly kind: 'part'; readonly list: ListName; readonly from: number }
  | { readonly kind: 'forget' };

export interface Answers {
  read: ImportReading['format'];
  know: null;
  plan: null;
  forget: null;
  part: readonly (string | Finish | ImportPlan[Exclude<keyof ImportPlan, 'finishes'>][number])[];
}

/** The thread keeps one file. The next file replaces it. */
interface Session {
  readonly reading: ImportReading;
  readonly finishes: StoredFinish[];
  readonly articles: Article[];
  readonly codes: Map<string, CodeCounts>;
  plan: ImportPlan | null;
}
let session: Session | null = null;

export default serveTasks(reply);

function reply(ask: Ask): Answers[keyof Answers] {
  if (ask.kind === 'read') {
    const { bytes, charset, viewing, columns } = ask.file;
    session = null;
    const reading = readImport(bytes, charset, viewing, columns);
    session = { reading, finishes: [], articles: [], codes: new Map(), plan: null };
    return reading.format;
  }
  if (ask.kind === 'forget') {
    session = null;
    return null;
  }
  if (!session) throw new Error(`asked to ${ask.kind} before a file was read`);
  switch (ask.kind) {
    case 'know':
      for (const finish of ask.finishes) session.finishes.push(finish);
      for (const article of ask.articles) session.articles.push(article);
      for (const [sha256, counts] of ask.codes) session.codes.set(sha256, counts);
      return null;
    case 'plan':
      session.plan = planImport(session.reading, session, ask.defaults);
      return null;
    case 'part':
      return listOf(session, ask.list).slice(ask.from, ask.from + IMPORT_PART);
  }
}

function listOf({ reading, plan }: Session, list: ListName): Answers['part'] {
  if (list === 'codes') return reading.rows.map(({ code }) => code);
  if (!plan) throw new Error(`asked for ${list} before there was a plan`);
  return plan[list];
}
