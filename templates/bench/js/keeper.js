// Keeps the draft after every change, and sees to it that one window alone writes in a round.

const TAB = Math.random().toString(36).slice(2) + Date.now().toString(36);

let book = null;
let draft = null;
let store = null;
let settings = { side: "right", length_unit: "mm", gauge_unit: "", angle_unit: "" };
let isElsewhere = false;
let isUnkept = false;
let isSaving = false;
let isDirty = false;
let hasAskedToPersist = false;
/** Pictures of this session where the browser keeps none. */
const loosePhotos = new Map();

/** Opens what the device holds of the round. */
async function openDraft() {
  store = await openStore();
  if (!store) {
    draft = newDraft(book, TAB);
    setKept("unkept");
    return;
  }
  try {
    const kept = await store.getSetting("page");
    settings = { ...settings, ...(kept ? kept.value : {}) };
    const isFree = await claim(false);
    const key = draftKey(newDraft(book, TAB));
    const found = isFree ? await store.takeOver(key, TAB) : ((await store.load(key)) || {}).draft;
    draft = found ? filledDraft(book, found) : newDraft(book, TAB);
    isElsewhere = !isFree;
    setKept(isFree ? "kept" : "elsewhere");
  } catch (error) {
    store = null;
    draft = draft || newDraft(book, TAB);
    setKept("unkept", error);
  }
}

/** Asks for the one right to write in this round; `byForce` takes it from another window, which is told. */
async function claim(byForce) {
  if (!navigator.locks) return true;
  let isHeld = false;
  return new Promise((resolve) => {
    navigator.locks
      .request(`evalkit-bench ${book.key}`, byForce ? { steal: true } : { ifAvailable: true }, (lock) => {
        isHeld = Boolean(lock);
        resolve(isHeld);
        return lock ? new Promise(() => {}) : null;
      })
      .catch(() => {
        resolve(true);
        if (isHeld) lostToAnother();
      });
  });
}

function lostToAnother() {
  isElsewhere = true;
  setKept("elsewhere");
  if (route) refresh();
}

/** Goes on in this window with what the device holds. */
async function goOnHere() {
  await claim(true);
  const kept = await store.takeOver(draftKey(draft), TAB);
  draft = kept ? filledDraft(book, kept) : newDraft(book, TAB);
  isElsewhere = false;
  isDirty = false;
  setKept("kept");
  refresh();
}

/** Looks whether another window has taken the round over meanwhile: after a nap, nothing typed here may be lost. */
async function lookWhoWrites() {
  if (!store || isElsewhere) return;
  const kept = await store.load(draftKey(draft));
  if (kept && kept.owner !== TAB) lostToAnother();
}

function isReadOnly() {
  return isElsewhere || Boolean(sealedNow(draft));
}

/** To be called after every change of the draft. */
function changed() {
  draft.revision += 1;
  draft.changed_at = new Date().toISOString();
  isDirty = true;
  if (!hasAskedToPersist && navigator.storage && navigator.storage.persist) {
    hasAskedToPersist = true;
    navigator.storage.persist().catch(() => {});
  }
  showCounts();
  return keep();
}

/** Keeps the draft without counting a change: it was taken up from a file, or left as one. */
function keepAsItIs() {
  isDirty = true;
  return keep();
}

/** Writes as soon as the last writing is done; what changes meanwhile goes along with the next. */
async function keep() {
  if (!store) {
    setKept("unkept");
    return;
  }
  if (isSaving || isElsewhere) return;
  isSaving = true;
  setKept("keeping");
  try {
    while (isDirty && !isElsewhere) {
      isDirty = false;
      if (!(await store.save(draft, TAB))) {
        isDirty = true;
        lostToAnother();
      }
    }
    if (!isElsewhere) setKept("kept");
  } catch (error) {
    isDirty = true;
    setKept("unkept", error);
  }
  isSaving = false;
}

function saveSettings() {
  if (store) store.putSetting("page", settings).catch(() => {});
}

function lengthUnit() {
  return settings.length_unit;
}

const KEPT_WORDS = {
  kept: "Kept on this device",
  keeping: "Keeping…",
  unkept: "Not kept!",
  elsewhere: "Open elsewhere",
};

/** Says whether the work is kept, always in the same place. */
function setKept(state, error = null) {
  const wasUnkept = isUnkept;
  isUnkept = state === "unkept";
  showKept(state);
  if (error) keptFault = error.name === "QuotaExceededError" ? "There is no room left on this device." : "";
  if (isUnkept !== wasUnkept || state === "elsewhere") showNotices();
}

let keptFault = "";
let saying = 0;
const KEEPING_MS = 400;
const QUIET_MS = 250;

/**
 * "Kept" is said only of what is on the disk, and once the hand rests: a word that comes and goes at every sign is a
 * nuisance. Until then nothing is said, and "Keeping…" when it takes long enough to be read.
 */
function showKept(state) {
  const place = byId("kept");
  if (!place) return;
  clearTimeout(saying);
  const say = () => {
    place.dataset.state = state;
    place.textContent = KEPT_WORDS[state];
  };
  const wasKeeping = place.dataset.state === "keeping";
  if (state === "keeping") {
    place.dataset.state = state;
    if (place.textContent !== KEPT_WORDS.keeping) place.textContent = "";
    saying = setTimeout(say, KEEPING_MS);
  } else if (state === "kept" && wasKeeping) {
    saying = setTimeout(say, QUIET_MS);
  } else {
    say();
  }
}

/** Keeps a picture; answers false where the browser keeps none, and it lives as long as the page. */
async function keepPhoto(photo) {
  if (store) {
    try {
      await store.putPhoto({ round_key: book.key, ...photo });
      return true;
    } catch (error) {
      setKept("unkept", error);
    }
  }
  loosePhotos.set(photo.sha256, photo);
  return false;
}

/** A picture of this round with its bytes; null when the device has lost it. */
async function findPhoto(sha256) {
  return loosePhotos.get(sha256) || (store ? store.getPhoto(book.key, sha256) : null);
}

/** Lets go of a picture that neither the draft nor a sealed version needs any more. */
async function dropPhoto(sha256) {
  const isNeeded = [...photosOf(draft), ...draft.sealed.flatMap((one) => one.photos)].some(
    (one) => one.sha256 === sha256,
  );
  if (isNeeded) return;
  loosePhotos.delete(sha256);
  if (store) await store.deletePhoto(book.key, sha256).catch(() => {});
}
