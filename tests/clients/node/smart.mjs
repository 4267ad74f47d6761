// How does the SMART client do what it is told?

import FHIR from "fhirclient";
import { speak } from "./speak.mjs";

const { FHIR_BASE: serverUrl, FHIR_KEY: access_token } = process.env;
const client = FHIR({ headers: {} }, {}, {}).client({ serverUrl, tokenResponse: { access_token } });

const query = (parameters) => new URLSearchParams(parameters).toString();

async function pages({ resourceType, searchParams }) {
  const found = [];
  const onPage = (page) => void found.push(page);
  await client.request(`${resourceType}?${query(searchParams)}`, { pageLimit: 0, onPage });
  return found;
}

async function described(asked) {
  const { body, response } = await asked;
  const headers = Object.fromEntries(response.headers.entries());
  return { status: response.status, headers, document: body };
}

// The client puts the body that came with a refusal behind its message.
function told(error) {
  if (!error.status) return null;
  const at = error.message.indexOf("\n\n{");
  return { status: error.status, document: at < 0 ? null : JSON.parse(error.message.slice(at)) };
}

await speak(
  {
    metadata: () => client.request("metadata"),
    read: ({ resourceType, id }) => client.request(`${resourceType}/${id}`),
    resolved: ({ resourceType, id, paths }) =>
      client.request(`${resourceType}/${id}`, { resolveReferences: paths, graph: true }),
    pages,
    create: ({ body }) => described(client.create(body, { includeResponse: true })),
    update: ({ body, headers }) => client.update(body, { headers }),
    transaction: ({ body }) =>
      client.request({
        url: "/",
        method: "POST",
        body: JSON.stringify(body),
        headers: { "content-type": "application/fhir+json" },
      }),
    patch: ({ resourceType, id, jsonPatch }) => client.patch(`${resourceType}/${id}`, jsonPatch),
    remove: ({ resourceType, id }) => client.delete(`${resourceType}/${id}`),
  },
  told,
);
