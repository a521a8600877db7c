/* In the head of an audit's page: moments come one at a time. */
document.documentElement.classList.add("scripted");
