import { signal } from '@preact/signals';
import { useMemo, useRef } from 'preact/hooks';
import { includesRole } from '../../../server/core/access/role.ts';
import type { ArchiveKind } from '../../../server/core/archive/archive.ts';
import type { ArchiveReport } from '../../../server/http/contracts/archive.ts';
import { call, getErrorMessage, seg } from '../../api.ts';
import { formatDate } from '../../format.ts';
import { takeFocus } from '../../parts/form.tsx';
import { caller } from '../../session.ts';
import { archiveTexts as texts } from '../../texts/archive.ts';
import { commonTexts } from '../../texts/common.ts';

/** Conflicts that are listed; the rest is counted. */
const LISTED = 12;

type Step = 'waiting' | 'reading' | 'asking' | 'importing' | 'done';
type Decision = 'keep' | 'replace';

/** Reads an archive, asks about what exists already and differs, and imports it. @param onImported is called once it is stored */
export function createImportModel(onImported: () => void) {
  const step = signal<Step>('waiting');
  const file = signal<File | null>(null);
  const report = signal<ArchiveReport | null>(null);
  const decisions = signal<Readonly<Partial<Record<ArchiveKind, Decision>>>>({});
  const problem = signal<string | null>(null);

  async function send(query: Readonly<Record<string, string>>): Promise<ArchiveReport> {
    const bytes = { data: file.value!, mediaType: 'application/zip' };
    const { data } = await call<ArchiveReport>('POST', `/api/archives?${new URLSearchParams(query)}`, { bytes });
    return data;
  }

  async function choose(chosen: File): Promise<void> {
    file.value = chosen;
    problem.value = null;
    report.value = null;
    step.value = 'reading';
    try {
      report.value = await send({ dryRun: '1' });
      // what is here stays, unless a person decides otherwise
      decisions.value = Object.fromEntries(listConflicts(report.value).map(({ kind }) => [kind, 'keep'] as const));
      step.value = 'asking';
    } catch (error) {
      problem.value = getErrorMessage(error);
      step.value = 'waiting';
    }
  }

  async function start(): Promise<void> {
    problem.value = null;
    step.value = 'importing';
    try {
      report.value = await send(decisions.value);
      step.value = 'done';
      onImported();
    } catch (error) {
      problem.value = getErrorMessage(error);
      step.value = 'asking';
    }
  }

  return {
    step,
    file,
    report,
    decisions,
    problem,
    choose,
    start,
    decide(kind: ArchiveKind, decision: Decision): void {
      decisions.value = { ...decisions.value, [kind]: decision };
    },
    cancel(): void {
      report.value = null;
      problem.value = null;
      step.value = 'waiting';
    },
  };
}
type ImportModel = ReturnType<typeof createImportModel>;

const listConflicts = ({ entries }: ArchiveReport) => entries.filter(({ state }) => state === 'conflict');

/** Imports the archive of a line. Only owners may: it can bring finishes that other lines use. */
export function ImportLine({ onImported }: { readonly onImported: () => void }) {
  const model = useMemo(() => createImportModel(onImported), [onImported]);
  const field = useRef<HTMLInputElement>(null);
  if (!caller.value || !includesRole(caller.value.role, 'owner')) return null;
  const { step, report, problem, file } = model;
  const isBusy = step.value === 'reading' || step.value === 'importing';
  return (
    <div class="no-print beginning">
      <p>
        <button type="button" disabled={isBusy} onClick={() => field.current?.click()}>
          {texts.import}
        </button>
      </p>
      <input
        ref={field}
        type="file"
        class="unseen"
        tabIndex={-1}
        aria-label={texts.import}
        accept=".zip"
        onChange={(event) => {
          const [chosen] = event.currentTarget.files ?? [];
          event.currentTarget.value = '';
          if (chosen) void model.choose(chosen);
        }}
      />
      <div role="status">
        {step.value === 'reading' && <p>{texts.reading(file.value!.name)}</p>}
        {step.value === 'importing' && <p>{texts.working}</p>}
        {problem.value && (
          <p class="notice arrives" ref={takeFocus} tabIndex={-1}>
            {problem.value}
          </p>
        )}
      </div>
      {step.value === 'asking' && report.value && <Plan model={model} report={report.value} />}
      {step.value === 'done' && report.value && (
        <p class="arrives" ref={takeFocus} tabIndex={-1}>
          {texts.done(report.value.line)}{' '}
          <a href={`/lines/${seg(report.value.line)}`}>{texts.open(report.value.line)}</a>
        </p>
      )}
    </div>
  );
}

/** What an import would do, with a decision for each kind of thing that exists already and differs. */
function Plan({ model, report }: { readonly model: ImportModel; readonly report: ArchiveReport }) {
  const conflicts = listConflicts(report);
  const countOf = (state: string) => report.entries.filter((entry) => entry.state === state).length;
  const isNothing = countOf('new') === 0 && conflicts.length === 0;
  const kinds = [...new Set(conflicts.map(({ kind }) => kind))];
  return (
    <form
      class="adding arrives"
      onSubmit={(event) => {
        event.preventDefault();
        void model.start();
      }}
    >
      <h3 ref={takeFocus} tabIndex={-1}>
        {texts.heading(report.line)}
      </h3>
      <p>
        {texts.from(formatDate(report.at), report.version)}{' '}
        {isNothing ? texts.unchanged : texts.counts(countOf('new'), countOf('same'))}
      </p>
      {conflicts.length > 0 && (
        <>
          <p>{texts.conflicts}</p>
          <ul>
            {conflicts.slice(0, LISTED).map(({ kind, code, differs, replaceable }) => (
              <li key={`${kind} ${code}`}>
                {texts.kind(kind)} <span class="code">{code}</span>:{' '}
                {differs.map((part) => texts.differs[part]).join(', ')}
                {!replaceable && <small class="soft"> {texts.fixed}</small>}
              </li>
            ))}
            {conflicts.length > LISTED && <li>{texts.rest(conflicts.length - LISTED)}</li>}
          </ul>
          {kinds.map((kind) => (
            <Decide key={kind} model={model} kind={kind} conflicts={conflicts.filter((each) => each.kind === kind)} />
          ))}
        </>
      )}
      <div class="actions">
        {!isNothing && (
          <button type="submit" class="main">
            {texts.start}
          </button>
        )}
        <button
          type="button"
          onClick={(event) => {
            const place = event.currentTarget.closest('.beginning');
            model.cancel();
            place?.querySelector<HTMLElement>('button')?.focus();
          }}
        >
          {commonTexts.cancel}
        </button>
      </div>
    </form>
  );
}

interface DecideProps {
  readonly model: ImportModel;
  readonly kind: ArchiveKind;
  readonly conflicts: ArchiveReport['entries'];
}

function Decide({ model, kind, conflicts }: DecideProps) {
  const canReplace = conflicts.every(({ replaceable }) => replaceable);
  return (
    <fieldset>
      <legend>{texts.decide(kind, conflicts.length)}</legend>
      {(['keep', 'replace'] as const).map((decision) => (
        <label key={decision} class="tick">
          <input
            type="radio"
            name={`decide-${kind}`}
            checked={model.decisions.value[kind] === decision}
            disabled={decision === 'replace' && !canReplace}
            onChange={() => model.decide(kind, decision)}
          />
          {texts[decision]}
        </label>
      ))}
    </fieldset>
  );
}
