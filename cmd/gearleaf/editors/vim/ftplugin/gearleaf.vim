" Worksheets: :make finds what is wrong, gq lays lines out in the usual way.
if exists('b:did_ftplugin')
  finish
endif
let b:did_ftplugin = 1

setlocal comments=:# commentstring=#\ %s
setlocal expandtab shiftwidth=2 softtabstop=2
setlocal makeprg=gearleaf\ check\ %:S
setlocal errorformat=%f:%l:%c:\ %trror:\ %m,%f:%l:%c:\ %tdvice:\ %m,%-G%.%#
setlocal formatprg=gearleaf\ fmt\ -

let b:undo_ftplugin = 'setlocal comments< commentstring< expandtab< shiftwidth< softtabstop< makeprg< errorformat< formatprg<'
