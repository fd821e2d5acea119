import type { Article, StoredFinish } from '../../core/finish/finish.ts';
import type { CodeCounts } from '../../core/finish/level-map.ts';
import type { ImportReading } from '../../core/import/measured-row.ts';
import { type ImportPlan, planImport } from '../../core/import/plan-import.ts';
import { IMPORT_PART } from '../../core/ports/imports.ts';
import { serveTasks } from '../../threads/serve-tasks.ts';
import { readImport } from '../read-import.ts';
import type { Answers, Ask, ListName } from './asks.ts';

/** The one file that is looked at; the next takes its place. */
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
    const { bytes, charset, viewing } = ask.file;
    session = null;
    const reading = readImport(bytes, charset, viewing);
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
      session.finishes.push(...ask.finishes);
      session.articles.push(...ask.articles);
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
