import type { AuditAnswer } from '../../../server/http/contracts/audit.ts';
import { formatDate } from '../../format.ts';
import { ColumnHeads } from '../../parts/column-heads.tsx';
import { accessTexts } from '../../texts/access.ts';
import type { PeopleModel } from './people-model.ts';

const texts = accessTexts.audit;
type Entry = AuditAnswer['entries'][number];

/** Who did what, when and from where; newest first. */
export function AuditSection({ model }: { readonly model: PeopleModel }) {
  return (
    <section class="audit">
      <div class="section-head">
        <h2>{texts.heading}</h2>
        <p class="small">{texts.intro}</p>
      </div>
      <div class="scroll">
        <table class="small">
          <ColumnHeads names={[texts.when, texts.who, texts.what, texts.about, texts.from, texts.outcome]} />
          <tbody>
            {model.audit.value.map((entry) => (
              <tr key={entry.entry}>
                <td>{formatDate(entry.at)}</td>
                <td>{entry.name ?? texts.by[entry.by]}</td>
                <td>{describeAction(entry)}</td>
                <td class="code">{Object.values(entry.about).filter(Boolean).join(', ')}</td>
                <td>{entry.address ?? texts.by[entry.by]}</td>
                <td>{entry.refusal ?? texts.done}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <div class="total no-print">
        {model.older.value !== null && (
          <button type="button" onClick={() => void model.showOlder()}>
            {texts.more}
          </button>
        )}
        <a href="/api/audit.csv" download>
          {texts.csv}
        </a>
        <a href="/api/audit.jsonl" download>
          {texts.jsonl}
        </a>
      </div>
    </section>
  );
}

/** An event in words; a call by its verb and the last fixed parts of its route. */
function describeAction({ what }: Entry): string {
  if (what in texts.events) return texts.events[what as keyof typeof texts.events];
  const [method = '', path = ''] = what.split(' ');
  const parts = path.split('/').filter((part) => part !== '' && part !== 'api' && !part.startsWith(':'));
  return `${texts.verbs[method as keyof typeof texts.verbs] ?? method}: ${parts.join(' / ')}`;
}
