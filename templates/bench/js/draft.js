// The draft of a round: what the trainee has written so far, pair by pair.

const DRAFT_FORMAT = 1;

function newDraft(book, id) {
  return {
    format: DRAFT_FORMAT,
    kind: "draft",
    round_key: book.key,
    rubric_digest: book.rubric.digest,
    draft_id: id,
    revision: 0,
    changed_at: null,
    trail: [],
    version: 1,
    reason: "",
    disinfected: { product: "", contact: "", from: "", to: "" },
    letter: "",
    pairs: Object.fromEntries(book.pairs.map((pair) => [pair.number, blankPair()])),
    sealed: [],
  };
}

function blankPair() {
  return {
    readings: {},
    stated_class: null,
    decision: null,
    reason: "",
    work: blankWork(),
    verdict: null,
    notes: "",
    questions: [],
    lessons: "",
    photos: [],
  };
}

/** The name under which a device keeps a draft: a bench book by another wording of the rubric has one of its own. */
function draftKey({ round_key, rubric_digest }) {
  return `${round_key} ${rubric_digest}`;
}

/** A draft with a place for all that this page knows, whichever page or device wrote it. */
function filledDraft(book, found) {
  const blank = newDraft(book, found.draft_id);
  const pairs = Object.fromEntries(
    book.pairs.map(({ number }) => {
      const kept = { ...blank.pairs[number], ...(found.pairs || {})[number] };
      return [number, { ...kept, work: { ...blankWork(), ...kept.work } }];
    }),
  );
  return { ...blank, ...found, disinfected: { ...blank.disinfected, ...found.disinfected }, pairs };
}

/** The version that is sealed as it stands, or null while it may still be changed. */
function sealedNow(draft) {
  return draft.sealed.find((one) => one.version === draft.version) || null;
}

function nReadings(kept) {
  return Object.values(kept.readings).filter((one) => one.way).length;
}

/** How much a draft holds, in one line. */
function draftWords(draft) {
  const pairs = Object.values(draft.pairs);
  const readings = pairs.reduce((sum, kept) => sum + nReadings(kept), 0);
  const photos = pairs.reduce((sum, kept) => sum + kept.photos.length, 0);
  const sealed = draft.sealed.length ? `, ${amount(draft.sealed.length, "sealed version")}` : "";
  const when = draft.changed_at ? `, changed on ${momentWords(draft.changed_at)}` : "";
  return `${amount(readings, "reading")}, ${amount(photos, "photo")}${sealed}${when}`;
}

/** '25 Nov 2026, 14:05', in the device's own time. */
function momentWords(iso) {
  const at = new Date(iso);
  const two = (number) => String(number).padStart(2, "0");
  const month = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"][at.getMonth()];
  return `${at.getDate()} ${month} ${at.getFullYear()}, ${two(at.getHours())}:${two(at.getMinutes())}`;
}

/** One state of a draft. Its `trail` holds the states in which it left a device as a file. */
function stateOf(draft) {
  return `${draft.revision}@${draft.changed_at}`;
}

/** How two drafts stand to each other: "same", "ours" (ours went on from theirs), "theirs", or "apart". */
function furtherOn(ours, theirs) {
  if (ours.draft_id !== theirs.draft_id) return "apart";
  if (stateOf(ours) === stateOf(theirs)) return "same";
  if (ours.trail.includes(stateOf(theirs))) return "ours";
  return theirs.trail.includes(stateOf(ours)) ? "theirs" : "apart";
}

function isBlank(draft) {
  return draft.revision === 0;
}

/** The contact time as it was typed, without its unit. */
function contactWords(contact) {
  return contact.trim().replace(/ *min(utes?)?\.?$/i, "");
}

/** The disinfection in one line, as the record takes it: product, the label's contact time, start and end. */
function disinfectedWords({ product, contact, from, to }) {
  const parts = [
    product.trim(),
    contact.trim() && `label ${contactWords(contact)} min`,
    from && `from ${from}`,
    to && `to ${to}`,
  ];
  return parts.filter(Boolean).join(", ");
}

const STEPS = ["received", "decide", "work", "finished", "verdict", "photos"];
const STEP_NAMES = {
  received: "As received",
  decide: "Decide",
  work: "Work",
  finished: "As finished",
  verdict: "Verdict",
  photos: "Photos",
};
const STAGE_OF_STEP = { received: AS_RECEIVED, finished: AS_FINISHED };

/** How far each step of a pair is: "locked", "empty", "part" or "done". */
function stepStates(book, pair, kept) {
  const isOpen = isReceived(book, pair, kept);
  const states = {};
  for (const step of STEPS)
    states[step] = !isOpen && step !== "received" ? "locked" : stepState(book, pair, kept, step);
  return states;
}

function stepState(book, pair, kept, step) {
  const rank = (n, most) => (n === 0 ? "empty" : n < most ? "part" : "done");
  const isLeft = kept.decision === "leave";
  switch (step) {
    case "received":
    case "finished": {
      if (step === "finished" && isLeft) return "done";
      const total = rowsOf(book, pair).reduce((sum, row) => sum + row.places.length, 0);
      return rank(total - openOf(book, pair, kept, STAGE_OF_STEP[step]).length, total);
    }
    case "decide":
      return rank((kept.stated_class ? 1 : 0) + (kept.decision ? 1 : 0), 2);
    case "work":
      return isLeft ? "done" : workState(kept.work);
    case "verdict":
      return kept.verdict || isLeft ? "done" : kept.notes || kept.lessons || kept.questions.length ? "part" : "empty";
    default:
      return kept.photos.length ? "done" : "empty";
  }
}

function workState(work) {
  const hasSteps = work.steps.some((step) => step.what.trim());
  if (hasSteps && work.minutes.trim()) return "done";
  return hasSteps || work.minutes.trim() || work.angle.text.trim() || work.running_since !== null ? "part" : "empty";
}

/** So many places of a step that is closed were never tested: closed is not passed. 0 for every other step. */
function nClosed(book, pair, kept, states, step) {
  const stage = STAGE_OF_STEP[step];
  if (!stage || states[step] !== "done" || !stagesOf(kept).includes(stage)) return 0;
  return untestedOf(book, pair, kept, [stage]).length;
}

/** A step that is not asked of a pair that was left as it came: nothing was done there, so nothing is ticked. */
function isNotAsked(kept, step) {
  return kept.decision === "leave" && ["work", "finished", "verdict"].includes(step);
}

/** The first step that is not done; photos are asked for by nobody. */
function nextStep(states) {
  return STEPS.find((step) => step !== "photos" && states[step] !== "done") || null;
}

/** Where a pair stands, in a few words. */
function pairWords(book, pair, kept) {
  const untested = untestedOf(book, pair, kept).length;
  const tail = `${untested || "nothing"} untested${kept.work.running_since === null ? "" : ", stopwatch running"}`;
  if (!nReadings(kept)) return `Not begun, ${tail}`;
  const step = nextStep(stepStates(book, pair, kept));
  if (step) return `Next: ${STEP_NAMES[step].toLowerCase()}, ${tail}`;
  return kept.decision === "leave" ? `Left as it came, ${tail}` : `All steps done, ${tail}`;
}
