// What the book answers, drawn: levels, what is untested, what could not be read, likely causes.

function took(data) {
  document.querySelectorAll('input[name="based_on"]').forEach((field) => { field.value = data.state; });
  const names = Object.keys(data.faults);
  if (!isDirty) {
    if (!names.length) { try { localStorage.removeItem(shelf); } catch (_) { /* nothing was kept */ } }
    const now = new Date();
    const time = now.toTimeString().slice(0, 5);
    tell(names.length ? "Kept, but for " + names.length + " that cannot be read" : "Kept " + time + (isSecond ? ", not finished" : ""), names.length ? "bad" : "");
  }
  lines.forEach((line) => paint(line, data.lines[line.key], data.faults));
  if (!isDirty) { // or what was marked since the question was asked would count as untested for a while
    $("untested").textContent = data.untested;
    $("untested").classList.toggle("none", data.n_untested === 0);
  }
  const others = names.filter((name) => !name.startsWith("v."));
  if (others.length) raise(others.map((name) => data.labels[name] + ": " + data.faults[name]).join(" "));
  offer(data.causes);
  const tab = document.querySelector(".tabs a[aria-current] svg");
  if (tab) tab.replaceWith(badge(data.tab, ""));
  showSpots(lines[at.line]);
}

function paint(line, told, faults) {
  if (!told) return;
  line.level.replaceChildren(badge(told.shape, ""), bold(told.level));
  line.places.forEach((place) => {
    const one = told.places[place.slug], fault = faults["v." + line.key + "." + place.slug] || "";
    place.fault.textContent = fault;
    if (place.chip && one && !isDirty) {
      place.chip.textContent = fault ? "!" : one.sign;
      place.chip.className = "chip " + (one.said === "" ? "unseen-yet" : one.shape + " said");
    }
  });
  const wrong = line.places.find((place) => place.fault.textContent);
  line.section.querySelectorAll(".pad-fault").forEach((tag) => tag.remove());
  if (wrong) {
    const tag = document.createElement("p");
    tag.className = "fault pad-fault";
    tag.textContent = wrong.name + ", “" + wrong.words.value + "”: " + wrong.fault.textContent;
    line.section.querySelector(".line-body").prepend(tag);
  }
}

function bold(words) { const tag = document.createElement("b"); tag.textContent = words; return tag; }

function offer(causes) {
  const list = $("cause-list");
  if (!list) return;
  list.closest("section").hidden = causes.length === 0;
  list.replaceChildren(...causes.map((one) => {
    const item = document.createElement("li"), head = document.createElement("strong"), tail = document.createElement("span");
    head.textContent = one.observed;
    tail.className = "remark";
    tail.textContent = "(" + one.weight + ")";
    item.append(head, ": " + one.causes + ". “" + one.say + "” ", tail);
    return item;
  }));
}

function countUntested() {
  const names = [];
  let n = 0;
  lines.forEach((line) => {
    const left = line.places.filter((place) => isUntested(line, place));
    const all = line.places.filter((place) => !isWhole(line, place));
    n += left.length;
    if (left.length) names.push(line.name + (left.length === all.length ? "" : " (" + left.map((place) => place.name).join(", ") + ")"));
  });
  const nCould = lines.filter((line) => line.places.some((place) => /^could not\s*(\(|$)/i.test(saidAt(place)))).length;
  $("untested").textContent = n ? "Untested, so not passed: " + n + (n === 1 ? " reading. " : " readings. ") + names.join("; ") + "." 
    : nCould ? "Nothing is left to test. Could not be tested, so not passed: " + nCould + (nCould === 1 ? " criterion." : " criteria.") : "Everything is tested.";
  $("untested").classList.toggle("none", n === 0);
}
