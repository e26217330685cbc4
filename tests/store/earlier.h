/*
 * earlier.h – what a desk of each version could have held: the statements of
 * all versions up to one fill a book of that version.
 */
#ifndef TESTS_STORE_EARLIER_H
#define TESTS_STORE_EARLIER_H

#include "folder.h"
#include "schema.h"

static const char *const held[SCHEMA_VERSION + 1] = {
    [1] =
        "INSERT INTO "
        "take(number,id,name,passage,how,hash,type,note,voice,model,job,problem,pins,seconds,"
        "bytes,made_ms,state,keep_voice,chosen,report,revision) "
        "VALUES(1,'0123456789abcdef','a','67:1-5','{}','00','audio/ogg','',"
        "NULL,NULL,NULL,NULL,'[]',1.5,3,7,'heard',0,0,1,1);"
        "INSERT INTO document(number,id,kind,title,text,made_ms,changed_ms,revision) "
        "VALUES(1,'0123456789abcdef','lesson','t','text',1,2,3);"
        "INSERT INTO setting VALUES('pages','{}');"
        "INSERT INTO job(number,id,kind,about,input,result,reason,state,made_ms,started_ms,"
        "ended_ms,attempts) VALUES(1,'0123456789abcdef','listen','x','{}',NULL,NULL,'running',1,2,"
        "0,1);",
    [2] = "INSERT INTO hearing(number,id,at,sura,verse,word,what,note,who,rule,made_ms,undone) "
          "VALUES(1,'0123456789abcdef','67:1:1',67,1,1,'short','','',NULL,9,"
          "0);",
    [3] = "UPDATE document SET problems=4",
    [4] =
        "INSERT INTO class VALUES(1,'c123456789abcdef','Evening class','en',90,'words','{}',1,0,1);"
        "INSERT INTO person VALUES(1,'p123456789abcdef','c123456789abcdef','learner','Learner 7',"
        "'','en',NULL,1,0,1);"
        "INSERT INTO consent VALUES(1,'p123456789abcdef','words','guardian',5,0);"
        "INSERT INTO assignment VALUES(1,'a123456789abcdef','c123456789abcdef','t','67:1-5','{}',"
        "NULL,'ikhfa','',1,NULL,99,1,0,1);"
        "INSERT INTO submission VALUES(1,'s123456789abcdef','c123456789abcdef',"
        "'a123456789abcdef','p123456789abcdef',NULL,'67:1-5','{}','[]','heard',NULL,NULL,0.5,6,7,"
        "8,1);"
        "INSERT INTO measure(submission,site,rule,letter,at,sura,verse,word,length,start_ms,end_ms,"
        "measured_counts,counts_low,counts_high,expected_counts,deviation,wrong,rank,skill,trust,"
        "told,ruling,ruled_by,ruled_ms) VALUES('s123456789abcdef',0,'ikhfa','x','67:3:2:1',67,3,2,"
        "'',1,2,1,1,1,2,-3,0.9,1,0,'good','short','overrule','',9);"
        "INSERT INTO note(number,id,submission,at,text,hash,type,bytes,by,made_ms) "
        "VALUES(1,'n123456789abcdef','s123456789abcdef',NULL,'well said',NULL,'',"
        "0,'',9);"
        "INSERT INTO job(number,id,kind,about,input,result,reason,state,made_ms,started_ms,"
        "ended_ms,attempts) VALUES(2,'j123456789abcdef','listen','x','{\"of\":"
        "\"s123456789abcdef\"}',NULL,NULL,'done',1,2,3,1),(3,'k123456789abcdef','film','x','{}',"
        "'{\"by\":\"work/p123456789abcdef/x\"}',NULL,'done',1,2,3,1);"
        "INSERT INTO receipt(id,person,made_ms,took,backups) "
        "VALUES('r123456789abcdef','x',9,'{}','[]');",
    [5] = "INSERT INTO held(number,hash,made_ms) VALUES(1,'00',1);UPDATE job SET fence=3",
    [6] = "UPDATE job SET mentioned=0",
    [7] = "UPDATE measure SET sent_ruling=ruling;UPDATE note SET sent=1",
};

#endif
