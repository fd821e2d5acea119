import type { ComponentChildren } from 'preact';
import type { ChangedRow, PlannedRow } from '../../../server/core/import/plan-import.ts';
import { formatKey, formatLab } from '../../format.ts';
import { Chip } from '../../parts/chip.tsx';
import { describeMarks } from './describe-marks.ts';
import { describeChange, type ImportLine } from './list-lines.ts';

/** The lines of a file in its order, each with what comes of it. */
export function LineTable({ lines }: { readonly lines: readonly ImportLine[] }) {
  return (
    <div class="scroll">
      <table class="import-lines">
        <thead>
          <tr>
            <th scope="col" class="figure">
              Line
            </th>
            <th scope="col">Finish</th>
            <th scope="col">
              CIE Lab
              <br />
              D65, 2°
            </th>
            <th scope="col">What comes of it</th>
            <th scope="col">Remarks</th>
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
                    <span class="code">{line.row.finish ?? 'no code'}</span>
                  </th>
                  <td />
                  <td colSpan={2}>
                    <span class="strong">Refused</span>
                    <p class="measure">{line.row.message}</p>
                    <p class="small soft">{line.row.code}</p>
                  </td>
                </>
              ) : (
                <TakenCells row={line.row}>{sayOutcome(line)}</TakenCells>
              )}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

function TakenCells({ row, children }: { readonly row: PlannedRow; readonly children: ComponentChildren }) {
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
        {describeMarks(row).map((mark) => (
          <p key={mark}>{mark}</p>
        ))}
      </td>
    </>
  );
}

function sayOutcome(line: Exclude<ImportLine, { kind: 'refused' }>): ComponentChildren {
  const { family, article } = line.row;
  if (line.kind === 'created') return `New, ${article ?? formatKey(family).toLowerCase()}`;
  if (line.kind === 'unchanged') return <span class="soft">As stored</span>;
  return <Changes row={line.row} />;
}

function Changes({ row }: { readonly row: ChangedRow }) {
  return (
    <>
      <span class="strong">Changed</span>
      <dl class="changes">
        {row.changes.map((change) => {
          const { what, how } = describeChange(change);
          return (
            <div key={what}>
              <dt class="soft">{what}</dt>
              <dd>
                {how}
                {change.field === 'colour' && (
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
