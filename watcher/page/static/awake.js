// The last script of a page: until the others have run, a tap would be lost or send a form to nowhere.
document.getElementById("main").inert = false;
