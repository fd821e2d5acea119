import type { ComponentChildren } from 'preact';
import type { ChangedRow, PlannedRow } from '../../../server/core/import/plan-import.ts';
import { formatKey, formatLab } from '../../format.ts';
import { Chip } from '../../parts/picture.tsx';
import { commonTexts } from '../../texts/common.ts';
import { importTexts as texts } from '../../texts/import.ts';
import { describeChange, describeNotes, type ImportLine } from './import-lines.ts';

/** The lines of a file in their order, each with its outcome. */
export function LineTable({ lines }: { readonly lines: readonly ImportLine[] }) {
  const { columns } = texts;
  return (
    <div class="scroll">
      <table class="import-lines">
        <thead>
          <tr>
            <th scope="col" class="figure">
              {columns.line}
            </th>
            <th scope="col">{commonTexts.finish}</th>
            <th scope="col">
              {columns.lab}
              <br />
              {columns.labViewing}
            </th>
            <th scope="col">{columns.outcome}</th>
            <th scope="col">{columns.notes}</th>
          </tr>
        </thead>
        <tbody>
          {lines.map((line) => (
            <tr key={`${line.row.line} ${line.row.finish}`} class={line.kind}>
              <td class="figure">{line.row.line}</td>
              {line.kind === 'refused' ? (
                <>
                  <th scope="row" class="finish-cell">
                    <Chip hex={null} />
                    <span class="code">{line.row.finish ?? texts.noCode}</span>
                  </th>
                  <td />
                  <td colSpan={2}>
                    <span class="strong">{texts.kinds.refused}</span>
                    <p class="measure">{line.row.message}</p>
                  </td>
                </>
              ) : (
                <AcceptedCells row={line.row}>
                  <Outcome line={line} />
                </AcceptedCells>
              )}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

function AcceptedCells({ row, children }: { readonly row: PlannedRow; readonly children: ComponentChildren }) {
  return (
    <>
      <th scope="row" class="finish-cell">
        <Chip hex={row.hex} />
        <span>
          <span class="code">{row.finish}</span> {row.name !== row.finish && row.name}
        </span>
      </th>
      <td class="lab">{formatLab(row.lab)}</td>
      <td>{children}</td>
      <td class="small">
        {describeNotes(row).map((note) => (
          <p key={note}>{note}</p>
        ))}
      </td>
    </>
  );
}

function Outcome({ line }: { readonly line: Exclude<ImportLine, { kind: 'refused' }> }) {
  const { family, article } = line.row;
  if (line.kind === 'created') return <>{texts.newIn(article ?? formatKey(family).toLowerCase())}</>;
  if (line.kind === 'unchanged') return <span class="soft">{texts.kinds.unchanged}</span>;
  return <Changes row={line.row} />;
}

function Changes({ row }: { readonly row: ChangedRow }) {
  return (
    <>
      <span class="strong">{texts.kinds.changed}</span>
      <dl class="changes">
        {row.changes.map((fieldChange) => {
          const { name, change } = describeChange(fieldChange);
          return (
            <div key={name}>
              <dt class="soft">{name}</dt>
              <dd>
                {change}
                {fieldChange.field === 'colour' && (
                  <span class="pair">
                    {' '}
                    <Chip hex={row.before.hex} />
                    <Chip hex={row.hex} /> ΔE00 {row.deltaE.toFixed(1)}
                  </span>
                )}
              </dd>
            </div>
          );
        })}
      </dl>
    </>
  );
}
