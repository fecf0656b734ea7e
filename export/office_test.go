package export

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gearleaf/sheet/outside"
)

// office is a started LibreOffice that a script of python operates.
type office struct {
	locale  string
	opened  string // the workbook that is open
	session *exec.Cmd
	in      io.WriteCloser
	out     *bufio.Reader
	faults  *bytes.Buffer
}

// startOffice starts LibreOffice in a locale. The script reads o.in as its standard
// input; the session ends where that does.
func startOffice(t *testing.T, locale, script string) *office {
	t.Helper()
	soffice, python := tool(t, "soffice"), unoPython(t)
	profile := filepath.Join(t.TempDir(), "profile")
	if err := os.MkdirAll(filepath.Join(profile, "user"), 0o755); err != nil {
		t.Fatal(err)
	}
	settings := fmt.Sprintf(localeSettings, locale)
	if err := os.WriteFile(filepath.Join(profile, "user", "registrymodifications.xcu"), []byte(settings), 0o644); err != nil {
		t.Fatal(err)
	}
	whole := strings.NewReplacer("@SCRIPT@", indented(script)).Replace(officeSession)
	pipe := strconv.Itoa(os.Getpid()) + strings.ReplaceAll(t.Name(), "/", "-") + locale
	o := &office{locale: locale, session: exec.Command(python, "-c", whole, soffice, profile, pipe), faults: &bytes.Buffer{}}
	o.session.Stderr = o.faults
	in, errIn := o.session.StdinPipe()
	out, errOut := o.session.StdoutPipe()
	if err := errors.Join(errIn, errOut, o.session.Start()); err != nil {
		t.Fatal(err)
	}
	o.in, o.out = in, bufio.NewReader(out)
	t.Cleanup(o.stop)
	return o
}

// stop ends the session, whatever happens.
func (o *office) stop() {
	_ = o.in.Close()
	_ = o.session.Wait()
}

// finish waits for the end of the session, and returns what the script has printed
// since the last answer.
func (o *office) finish() (string, error) {
	out, errOut := io.ReadAll(o.out)
	if err := errors.Join(o.session.Wait(), errOut); err != nil {
		return "", fmt.Errorf("%s: %w\n%s%s", o.locale, err, out, o.faults)
	}
	return string(out), nil
}

// inOffice runs a script of python within a started LibreOffice, in a locale.
func inOffice(t *testing.T, locale, script, input string) string {
	t.Helper()
	o := startOffice(t, locale, script)
	go func() { // while what it prints is read
		_, _ = io.WriteString(o.in, input)
		_ = o.in.Close()
	}()
	out, err := o.finish()
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// unoPython returns a python3 that can steer LibreOffice.
func unoPython(t *testing.T) string {
	t.Helper()
	for _, p := range []string{"/usr/bin/python3", "python3", "/usr/lib/libreoffice/program/python"} {
		if exec.Command(p, "-c", "import uno").Run() == nil {
			return p
		}
	}
	outside.Missing(t, "no python3 with uno: nothing was changed in LibreOffice")
	return ""
}

// localeSettings are those of a LibreOffice profile in a locale.
const localeSettings = `<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Setup/L10N"><prop oor:name="ooSetupSystemLocale" oor:op="fuse"><value>%s</value></prop></item>
</oor:items>
`

// officeSession starts LibreOffice, runs a script, and ends it.
const officeSession = `
import os, signal, subprocess, sys, time, uno
from com.sun.star.beans import PropertyValue
def prop(name, value):
    p = PropertyValue()
    p.Name, p.Value = name, value
    return p
child = subprocess.Popen([sys.argv[1], "--headless", "--norestore", "--nologo", "-env:UserInstallation=file://" + sys.argv[2],
    "--accept=pipe,name=gearleaf%s;urp;" % sys.argv[3]], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True)
try:
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
    context = None
    for _ in range(3000):
        try:
            context = resolver.resolve("uno:pipe,name=gearleaf%s;urp;StarOffice.ComponentContext" % sys.argv[3])
            break
        except Exception:
            if child.poll() is not None and child.returncode not in (0, 81):
                raise
            time.sleep(0.1)
    if context is None:
        raise Exception("LibreOffice did not answer within five minutes")
    desktop = context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context)
    def load(path, *how):
        for _ in range(100): # one that has just started may not be ready for it
            book = desktop.loadComponentFromURL("file://" + path, "_blank", 0, how)
            if book is not None:
                return book
            time.sleep(0.2)
        raise Exception(path + " could not be opened")
@SCRIPT@
    try:
        desktop.terminate()
        child.wait(120)
    except Exception:
        pass
finally:
    try: # it has processes of its own
        os.killpg(child.pid, signal.SIGKILL)
    except ProcessLookupError:
        pass
`

// indented moves a script into the session.
func indented(script string) string {
	return "    " + strings.ReplaceAll(strings.TrimSpace(script), "\n", "\n    ")
}
