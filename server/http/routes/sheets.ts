import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { Context } from '../../actions/context.ts';
import { printCheckSet, printColourCard, printSchedule, type RowForm } from '../../actions/print-sheets.ts';
import type { StoredPicture } from '../../core/ports/files.ts';
import type { BleedMm, SheetFormat } from '../../core/sheet/paper.ts';
import { CheckSetSheetQuery, ColourCardQuery, RowSheetQuery, type SheetQuery } from '../contracts/sheet.ts';
import { sendBytes } from '../send-bytes.ts';

/** Sheets to print, as PDF. */
export function addSheetRoutes(app: FastifyInstance, context: Context): void {
  app.get<{ Params: { line: string }; Querystring: ColourCardQuery }>(
    '/api/lines/:line/colour-card.pdf',
    {
      schema: {
        summary: 'The colour card of a line: what it sells now, by article and grade, on A4 or Letter',
        tags: ['sheets'],
        querystring: ColourCardQuery,
      },
    },
    async (request, reply) => {
      const { params, query } = request;
      return sendSheet(
        request,
        reply,
        await printColourCard(context, params.line, toFormat(query), query.panels !== '0'),
      );
    },
  );

  app.get<{ Params: { product: string }; Querystring: RowSheetQuery }>(
    '/api/products/:product/schedule.pdf',
    {
      schema: {
        summary: 'The finish schedule of a product, with a picture of each variant, in a detailed or a compact form',
        tags: ['sheets'],
        querystring: RowSheetQuery,
      },
    },
    async (request, reply) => {
      const { params, query } = request;
      const sheet = await printSchedule(context, params.product, toFormat(query), toForm(query));
      return sendSheet(request, reply, sheet);
    },
  );

  app.get<{ Params: { product: string }; Querystring: CheckSetSheetQuery }>(
    '/api/products/:product/schedule/check-set.pdf',
    {
      schema: {
        summary: 'The few variants that show every finish, or every allowed pair, as a sheet; the schedule stays',
        tags: ['sheets'],
        querystring: CheckSetSheetQuery,
      },
    },
    async (request, reply) => {
      const { params, query } = request;
      const { kind = 'each-finish' } = query;
      const sheet = await printCheckSet(context, params.product, kind, toFormat(query), toForm(query));
      return sendSheet(request, reply, sheet);
    },
  );
}

/** For press there is a bleed unless none is asked for. */
const toFormat = ({ paper = 'a4', press = '0', bleedMm = press === '1' ? '3' : '0' }: SheetQuery): SheetFormat => ({
  paper,
  bleedMm: Number(bleedMm) as BleedMm,
  press: press === '1',
});

const toForm = ({ form = 'detailed', pictures = '1' }: RowSheetQuery): RowForm => ({
  form,
  pictures: pictures === '1',
});

function sendSheet(request: FastifyRequest, reply: FastifyReply, { bytes, sha256, mediaType }: StoredPicture) {
  return sendBytes(request, reply, bytes, { sha256, mediaType });
}
