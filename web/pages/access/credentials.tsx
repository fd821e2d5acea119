import type { ComponentChildren } from 'preact';
import type { CredentialsAnswer } from '../../../server/http/contracts/access.ts';
import { formatDate } from '../../format.ts';
import { ColumnHeads } from '../../parts/column-heads.tsx';
import { accessTexts } from '../../texts/access.ts';

const { sessions: sessionTexts, tokens: tokenTexts } = accessTexts;

interface CredentialsProps {
  readonly of: CredentialsAnswer;
  /** Gets the part of the address after the person, and deletes it. */
  readonly onDelete: (path: string) => void;
  /** What stands before the list of tokens. */
  readonly notice?: ComponentChildren;
  /** What stands after it. */
  readonly children?: ComponentChildren;
}

/** The sessions and tokens of a person. */
export function Credentials({ of: { sessions, tokens }, onDelete, notice, children }: CredentialsProps) {
  return (
    <>
      <section>
        <h2>{sessionTexts.heading}</h2>
        <DeletedTable
          columns={[sessionTexts.browser, sessionTexts.address, sessionTexts.used]}
          rows={sessions.map(({ id, browser, address, usedAt, isThis }) => ({
            path: `/sessions/${id}`,
            isKept: isThis,
            cells: [
              <span title={browser}>{describeBrowser(browser)}</span>,
              address,
              isThis ? sessionTexts.thisOne : formatDate(usedAt),
            ],
          }))}
          button={sessionTexts.end}
          onDelete={onDelete}
        />
        <div class="total">
          <button type="button" onClick={() => onDelete('/sessions')}>
            {sessionTexts.endAll}
          </button>
        </div>
      </section>
      <section>
        <h2>{tokenTexts.heading}</h2>
        {notice}
        {tokens.length === 0 ? (
          <p class="soft">{tokenTexts.none}</p>
        ) : (
          <DeletedTable
            columns={[tokenTexts.name, tokenTexts.begins, tokenTexts.scope, tokenTexts.expires, tokenTexts.used]}
            rows={tokens.map(({ token, name, scope, expiresAt, usedAt }) => ({
              path: `/tokens/${token}`,
              cells: [
                name,
                <span class="code">{tokenTexts.begin(token)}</span>,
                accessTexts.roles[scope],
                formatDate(expiresAt),
                usedAt === null ? tokenTexts.never : formatDate(usedAt),
              ],
            }))}
            button={tokenTexts.revoke}
            onDelete={onDelete}
          />
        )}
        {children}
      </section>
    </>
  );
}

interface DeletedTableProps {
  readonly columns: readonly string[];
  readonly rows: readonly {
    readonly path: string;
    /** Whether it cannot be deleted here. */
    readonly isKept?: boolean;
    readonly cells: readonly ComponentChildren[];
  }[];
  readonly button: string;
  readonly onDelete: (path: string) => void;
}

/** A table whose rows can be deleted. */
function DeletedTable({ columns, rows, button, onDelete }: DeletedTableProps) {
  return (
    <div class="scroll">
      <table>
        <ColumnHeads names={[...columns, '']} />
        <tbody>
          {rows.map(({ path, isKept, cells }) => (
            <tr key={path}>
              {columns.map((column, at) => (
                <td key={column}>{cells[at]}</td>
              ))}
              <td>
                {!isKept && (
                  <button type="button" onClick={() => onDelete(path)}>
                    {button}
                  </button>
                )}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

/** A `User-Agent` in two words, such as “Firefox, Windows”. The order matters: most browsers also name others. */
function describeBrowser(agent: string): string {
  const name = /Edg|OPR|Firefox|Chrom|Safari|curl|node/.exec(agent)?.[0];
  const system = /Windows|Android|iPhone|iPad|Mac OS|Linux/.exec(agent)?.[0];
  const { browsers, unknown } = accessTexts.sessions;
  const known = name === undefined ? unknown : browsers[name as keyof typeof browsers];
  return [known, system].filter(Boolean).join(', ');
}
